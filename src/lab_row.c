#include "lab_row.h"

#include "delta_e.h"
#include "eight.h"

#include <assert.h>

/* Cube roots of x from 0.008 to 8. The bits of a float read as a whole number are nearly
 * its logarithm, so -1/3 of them with the bias put back are 1 / root to 3.6 %; what is
 * left, (1 - e)^(-1/3), is a polynomial with an error of 1.2e-7 for |e| < 0.11. */
INLINED void cube_root(const Eight *x, Eight *root)
{
    const Eight bits = __builtin_convertvector((EightWhole)*x, Eight);
    const Eight y = (Eight) __builtin_convertvector(1.4199e9f - bits * (1.0f / 3.0f), EightWhole);
    const Eight xyy = *x * (y * y), e = 1.0f - xyy * y;
    const Eight rest = (0.33332839f + e * 0.22223774f) + e * e * (0.17459723f + e * 0.14324858f);
    const Eight scale = 1.0f + e * rest;
    *root = xyy * (scale * scale);
}

/* The function f of CIE 15 section 8. */
INLINED void lab_curve(const Eight *t, Eight *f)
{
    const EightWhole bright = *t > 216.0f / 24389.0f;
    const Eight dark = *t * (24389.0f / 27.0f / 116.0f) + 16.0f / 116.0f;
    const Eight safe = (Eight)(((EightWhole)*t & bright) | ((EightWhole)eight(0.5f) & ~bright));
    cube_root(&safe, f);
    *f = (Eight)(((EightWhole)*f & bright) | ((EightWhole)dark & ~bright));
}

/* m is the matrix with the white divided out. */
static WIDE void labs_of(float m[3][3], const float *const plane[3], int count, const LabRow *out)
{
    for (int i = 0; i < count; i += EIGHT) {
        const Eight p = eight_at(plane[0] + i), q = eight_at(plane[1] + i),
                    r = eight_at(plane[2] + i);
        Eight f[3];
        for (int k = 0; k < 3; k++) {
            const Eight t = m[k][0] * p + m[k][1] * q + m[k][2] * r;
            lab_curve(&t, &f[k]);
        }
        eight_put(out->L + i, 116.0f * f[1] - 16.0f);
        eight_put(out->a + i, 500.0f * (f[0] - f[1]));
        eight_put(out->b + i, 200.0f * (f[1] - f[2]));
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

static QuickFour colours(const LabRow *row, int at)
{
    QuickFour c;
    memcpy(&c.L, row->L + at, sizeof c.L);
    memcpy(&c.a, row->a + at, sizeof c.a);
    memcpy(&c.b, row->b + at, sizeof c.b);
    c.chroma = four_root(c.a * c.a + c.b * c.b);
    return c;
}

static Lab colour(const LabRow *row, int at)
{
    return (Lab){(double)row->L[at], (double)row->a[at], (double)row->b[at]};
}

void lab_row_differences(const Quick *quick, const LabRow *one, const LabRow *two, int count,
                         float *out)
{
    enum { AT_ONCE = 16 };
    assert(count % LAB_LANES == 0);
    for (int first = 0; first < count; first += AT_ONCE * QUICK_LANES) {
        QuickFour p[AT_ONCE], q[AT_ONCE];
        Four square[AT_ONCE];
        const int left = (count - first) / QUICK_LANES, n = left < AT_ONCE ? left : AT_ONCE;
        for (int i = 0; i < n; i++) {
            p[i] = colours(one, first + i * QUICK_LANES);
            q[i] = colours(two, first + i * QUICK_LANES);
        }
        quick_square_fours(quick, p, q, n, square);
        for (int i = 0; i < n; i++) {
            const Four root = four_root(four_most(square[i], four(0.0f)));
            memcpy(out + first + i * QUICK_LANES, &root, sizeof root);
            for (int k = 0; k < QUICK_LANES; k++) {
                const int at = first + i * QUICK_LANES + k;
                if (square[i][k] < 0.0f)
                    out[at] = (float)delta_e_2000(colour(one, at), colour(two, at));
            }
        }
    }
}
