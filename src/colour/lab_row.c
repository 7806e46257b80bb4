/* CIELAB (CIE 15:2018, section 8) eight samples at a time in single precision. The one costly
 * part is the cube root; it starts from the bits of the float, as a logarithm, and is mended by a
 * polynomial, so that there is no loop and no library call. */
#include "colour/lab_row.h"

#include "base/simd8.h"
#include "colour/delta_e.h"

#include <assert.h>

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

/* m is the matrix with the white divided out. */
static WIDE void labs_of(float m[3][3], const float *const plane[3], int count, const LabRow *out)
{
    for (int i = 0; i < count; i += SIMD8) {
        const Simd8 p = simd8_at(plane[0] + i), q = simd8_at(plane[1] + i),
                    r = simd8_at(plane[2] + i);
        Simd8 f[3];
        for (int k = 0; k < 3; k++) {
            const Simd8 t = m[k][0] * p + m[k][1] * q + m[k][2] * r;
            lab_curve_8(&t, &f[k]);
        }
        simd8_put(out->L + i, 116.0f * f[1] - 16.0f);
        simd8_put(out->a + i, 500.0f * (f[0] - f[1]));
        simd8_put(out->b + i, 200.0f * (f[1] - f[2]));
    }
}

void lab_row(const double matrix[3][3], const float *const plane[3], int count, const LabRow *out)
{
    assert(count % LAB_LANES == 0);
    const Xyz w = WHITE_D50;
    const double white[3] = {w.x, w.y, w.z};
    float m[3][3];
    for (int k = 0; k < 9; k++) m[k / 3][k % 3] = (float)(matrix[k / 3][k % 3] / white[k / 3]);
    labs_of(m, plane, count, out);
}

static Lab lab_at(const LabRow *row, int at)
{
    return (Lab){(double)row->L[at], (double)row->a[at], (double)row->b[at]};
}

/* Roots in place, and those below 0 as they are; whether there are any. */
static WIDE int roots(float *square, int count)
{
    Simd8Whole any = {0};
    for (int i = 0; i < count; i += SIMD8) {
        const Simd8 s = simd8_at(square + i);
        const Simd8Whole below = s < 0.0f;
        const Simd8 safe = simd8_either(s > 0.0f, s, simd8(0.0f));
        Simd8 root;
        simd8_root(&safe, &root);
        any |= below;
        simd8_put(square + i, simd8_either(below, s, root));
    }
    return simd8_any(&any);
}

void lab_row_differences(const Quick *quick, const LabRow *one, const LabRow *two, int count,
                         float *out)
{
    assert(count % LAB_LANES == 0);
    const float *const row1[3] = {one->L, one->a, one->b}, *const row2[3] = {two->L, two->a,
                                                                             two->b};
    quick_square_rows(quick, row1, row2, count, out);
    if (!roots(out, count)) return;
    for (int i = 0; i < count; i++)
        if (out[i] < 0.0f) out[i] = (float)delta_e_2000(lab_at(one, i), lab_at(two, i));
}
