/* CIELAB (CIE 15:2018, section 8) eight samples at a time in single precision (lab_curve_8.h). */
#include "colour/lab_row.h"

#include "base/simd8.h"
#include "colour/delta_e.h"
#include "colour/lab_curve_8.h"

#include <assert.h>

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

void lab_row_of_samples(const float *xyz, int columns, float *const plane[3], int count,
                        const LabRow *out)
{
    static const double unchanged[3][3] = {{1.0, 0.0, 0.0}, {0.0, 1.0, 0.0}, {0.0, 0.0, 1.0}};
    const float *const read[3] = {plane[0], plane[1], plane[2]};
    for (int i = 0; i < columns; i++, xyz += 3)
        for (int k = 0; k < 3; k++) plane[k][i] = xyz[k];
    lab_row(unchanged, read, count, out);
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
