/* Four floats side by side, in the form that gcc and clang know on every machine.
 * Comparisons give a mask per lane. */
#ifndef ROWLOCK_BASE_SIMD4_H
#define ROWLOCK_BASE_SIMD4_H

#include <math.h>
#include <stdint.h>
#ifdef __SSE__
#include <xmmintrin.h>
#endif

typedef float Simd4 __attribute__((vector_size(16)));
typedef int32_t Simd4Whole __attribute__((vector_size(16)));

static inline Simd4 simd4(float x) { return (Simd4){x, x, x, x}; }

static inline Simd4 simd4_root(Simd4 x)
{
#ifdef __SSE__
    return (Simd4)_mm_sqrt_ps((__m128)x);
#else
    return (Simd4){sqrtf(x[0]), sqrtf(x[1]), sqrtf(x[2]), sqrtf(x[3])};
#endif
}

/* yes where the mask is set, no elsewhere. */
static inline Simd4 simd4_either(Simd4Whole mask, Simd4 yes, Simd4 no)
{
    return (Simd4)(((Simd4Whole)yes & mask) | ((Simd4Whole)no & ~mask));
}

static inline Simd4 simd4_least(Simd4 x, Simd4 y) { return simd4_either(x < y, x, y); }
static inline Simd4 simd4_most(Simd4 x, Simd4 y) { return simd4_either(x > y, x, y); }
static inline Simd4 simd4_size(Simd4 x) { return (Simd4)((Simd4Whole)x & 0x7fffffff); }

#endif
