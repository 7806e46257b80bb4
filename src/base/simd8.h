/* Eight floats side by side at any address, for long rows. A static function marked WIDE is
 * compiled twice, and the machine takes the one with vectors this wide where it has them;
 * the other does two of four, with the same result in each lane. WIDEST is for eight doubles and
 * has one more, for machines that take as many at once.
 *
 * Functions that take or return such vectors must be inlined, by address: the two ways
 * differ in how they are passed. */
#ifndef ROWLOCK_BASE_SIMD8_H
#define ROWLOCK_BASE_SIMD8_H

#include <math.h>
#include <stdint.h>
#include <string.h>

typedef float Simd8 __attribute__((vector_size(32), aligned(4), may_alias));
typedef int32_t Simd8Whole __attribute__((vector_size(32), aligned(4), may_alias));

enum { SIMD8 = 8 };

#if defined(__x86_64__) && defined(__GLIBC__) && __has_attribute(target_clones)
#define WIDE __attribute__((target_clones("avx2", "default")))
#define WIDEST __attribute__((target_clones("avx512f", "avx2", "default")))
#else
#define WIDE
#define WIDEST
#endif
#define INLINED static inline __attribute__((always_inline))

#define simd8(x) ((x) - (Simd8){0.0f})
#define simd8_at(p) (*(const Simd8 *)(p))
#define simd8_put(p, x) (*(Simd8 *)(p) = (x))
/* yes where the mask is set, no elsewhere. */
#define simd8_either(mask, yes, no)                                                                \
    ((Simd8)(((Simd8Whole)(yes) & (mask)) | ((Simd8Whole)(no) & ~(mask))))
#define simd8_size(x) ((Simd8)((Simd8Whole)(x)&0x7fffffff))

/* Becomes one instruction, or two of four. */
INLINED void simd8_root(const Simd8 *x, Simd8 *root)
{
    const Simd8 v = *x;
    *root = (Simd8){sqrtf(v[0]), sqrtf(v[1]), sqrtf(v[2]), sqrtf(v[3]),
                    sqrtf(v[4]), sqrtf(v[5]), sqrtf(v[6]), sqrtf(v[7])};
}

/* Whether the mask is set anywhere. */
INLINED int simd8_any(const Simd8Whole *mask)
{
    uint64_t part[4];
    memcpy(part, mask, sizeof part);
    return ((part[0] | part[1]) | (part[2] | part[3])) != 0;
}

#endif
