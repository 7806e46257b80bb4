/* The curve of CIELAB (CIE 15:2018, section 8) for eight numbers at once in single precision. The
 * one costly part is the cube root; it starts from the bits of the float, as a logarithm, and is
 * mended by a polynomial, so that there is no loop and no library call. */
#ifndef ROWLOCK_COLOUR_LAB_CURVE_8_H
#define ROWLOCK_COLOUR_LAB_CURVE_8_H

#include "base/simd8.h"

/* Cube roots of x from 0.008 to 8. The bits of a float read as a whole number are nearly
 * its logarithm, so -1/3 of them with the bias put back are 1 / root to 3.6 %; what is
 * left, (1 - e)^(-1/3), is a polynomial with an error of 1.2e-7 for |e| < 0.11. */
INLINED void cube_root(const Simd8 *x, Simd8 *root)
{
    const Simd8 bits = __builtin_convertvector((Simd8Whole)*x, Simd8);
    const Simd8 y = (Simd8) __builtin_convertvector(1.4199e9f - bits * (1.0f / 3.0f), Simd8Whole);
    const Simd8 xyy = *x * (y * y), e = 1.0f - xyy * y;
    const Simd8 rest = (0.33332839f + e * 0.22223774f) + e * e * (0.17459723f + e * 0.14324858f);
    const Simd8 scale = 1.0f + e * rest;
    *root = xyy * (scale * scale);
}

/* The function f of CIE 15 section 8. */
INLINED void lab_curve_8(const Simd8 *t, Simd8 *f)
{
    const Simd8Whole bright = *t > 216.0f / 24389.0f;
    const Simd8 dark = *t * (24389.0f / 27.0f / 116.0f) + 16.0f / 116.0f;
    const Simd8 safe = simd8_either(bright, *t, simd8(0.5f));
    cube_root(&safe, f);
    *f = simd8_either(bright, *f, dark);
}

#endif
