/* Eight floats side by side at any address, for long rows. A static function marked WIDE is
 * compiled twice, and the machine takes the one with vectors this wide where it has them;
 * the other does two of four, with the same result in each lane.
 *
 * Functions that take or return such vectors must be inlined, by address: the two ways
 * differ in how they are passed. */
#ifndef ROWLOCK_EIGHT_H
#define ROWLOCK_EIGHT_H

#include <math.h>
#include <stdint.h>
#include <string.h>

typedef float Eight __attribute__((vector_size(32), aligned(4), may_alias));
typedef int32_t EightWhole __attribute__((vector_size(32), aligned(4), may_alias));

enum { EIGHT = 8 };

#if defined(__x86_64__) && defined(__GLIBC__)
#define WIDE __attribute__((target_clones("avx2", "default")))
#else
#define WIDE
#endif
#define INLINED static inline __attribute__((always_inline))

#define eight(x) ((x) - (Eight){0.0f})
#define eight_at(p) (*(const Eight *)(p))
#define eight_put(p, x) (*(Eight *)(p) = (x))
/* yes where the mask is set, no elsewhere. */
#define eight_either(mask, yes, no)                                                                \
    ((Eight)(((EightWhole)(yes) & (mask)) | ((EightWhole)(no) & ~(mask))))
#define eight_size(x) ((Eight)((EightWhole)(x)&0x7fffffff))

/* Becomes one instruction, or two of four. */
INLINED void eight_root(const Eight *x, Eight *root)
{
    const Eight v = *x;
    *root = (Eight){sqrtf(v[0]), sqrtf(v[1]), sqrtf(v[2]), sqrtf(v[3]),
                    sqrtf(v[4]), sqrtf(v[5]), sqrtf(v[6]), sqrtf(v[7])};
}

/* Whether the mask is set anywhere. */
INLINED int eight_any(const EightWhole *mask)
{
    uint64_t part[4];
    memcpy(part, mask, sizeof part);
    return ((part[0] | part[1]) | (part[2] | part[3])) != 0;
}

#endif
