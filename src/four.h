/* Four floats side by side, in the form that gcc and clang know on every machine.
 * Comparisons give a mask per lane. */
#ifndef ROWLOCK_FOUR_H
#define ROWLOCK_FOUR_H

#include <math.h>
#include <stdint.h>
#ifdef __SSE__
#include <xmmintrin.h>
#endif

typedef float Four __attribute__((vector_size(16)));
typedef int32_t FourWhole __attribute__((vector_size(16)));

static inline Four four(float x) { return (Four){x, x, x, x}; }

static inline Four four_root(Four x)
{
#ifdef __SSE__
    return (Four)_mm_sqrt_ps((__m128)x);
#else
    return (Four){sqrtf(x[0]), sqrtf(x[1]), sqrtf(x[2]), sqrtf(x[3])};
#endif
}

/* yes where the mask is set, no elsewhere. */
static inline Four four_either(FourWhole mask, Four yes, Four no)
{
    return (Four)(((FourWhole)yes & mask) | ((FourWhole)no & ~mask));
}

static inline Four four_least(Four x, Four y) { return four_either(x < y, x, y); }
static inline Four four_most(Four x, Four y) { return four_either(x > y, x, y); }
static inline Four four_size(Four x) { return (Four)((FourWhole)x & 0x7fffffff); }

#endif
