#include "lab_four.h"

#include "delta_e.h"

/* Cube roots of x from 0.008 to 8. The bits of a float read as a whole number are nearly
 * its logarithm, so -1/3 of them with the bias put back are 1 / root to 3.6 %; what is
 * left, (1 - e)^(-1/3), is a polynomial with an error of 1.2e-7 for |e| < 0.11. */
static inline Four cube_root(Four x)
{
    const Four bits = __builtin_convertvector((FourWhole)x, Four);
    const Four y = (Four) __builtin_convertvector(1.4199e9f - bits * (1.0f / 3.0f), FourWhole);
    const Four e = 1.0f - x * y * (y * y);
    const Four rest = (0.33332839f + e * 0.22223774f) + e * e * (0.17459723f + e * 0.14324858f);
    const Four xyy = x * (y * y), scale = 1.0f + e * rest;
    return xyy * (scale * scale);
}

static inline Four lab_curve(Four t)
{
    const float edge = 216.0f / 24389.0f;
    return four_either(t > edge, cube_root(four_most(t, four(edge))),
                       t * (24389.0f / 27.0f / 116.0f) + 16.0f / 116.0f);
}

QuickFour lab_four(Four x, Four y, Four z)
{
    const Xyz white = WHITE_D50;
    const Four fx = lab_curve(x * (float)(1.0 / white.x));
    const Four fy = lab_curve(y * (float)(1.0 / white.y));
    const Four fz = lab_curve(z * (float)(1.0 / white.z));
    const Four a = 500.0f * (fx - fy), b = 200.0f * (fy - fz);
    return (QuickFour){116.0f * fy - 16.0f, a, b, four_root(a * a + b * b)};
}

QuickFour lab_four_from(const float *xyz, int left)
{
    const float *c[QUICK_LANES];
    for (int i = 0; i < QUICK_LANES; i++) c[i] = xyz + 3 * (i < left ? i : left - 1);
    return lab_four((Four){c[0][0], c[1][0], c[2][0], c[3][0]},
                    (Four){c[0][1], c[1][1], c[2][1], c[3][1]},
                    (Four){c[0][2], c[1][2], c[2][2], c[3][2]});
}

static Lab lane(const QuickFour *c, int i)
{
    return (Lab){(double)c->L[i], (double)c->a[i], (double)c->b[i]};
}

Four lab_four_difference(const Quick *quick, const QuickFour *one, const QuickFour *two)
{
    const Four square = quick_square_four(quick, one, two);
    Four difference = four_root(four_most(square, four(0.0f)));
    for (int i = 0; i < QUICK_LANES; i++)
        if (square[i] < 0.0f) difference[i] = (float)delta_e_2000(lane(one, i), lane(two, i));
    return difference;
}
