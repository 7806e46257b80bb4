/* The differential of CIEDE2000 (ISO/CIE 11664-6): steps of L', C' and H', each divided by its
 * weight, as linear functions of a step in opponent values; G is the sum of their squares and of
 * the rotation term. Invariant: G is symmetric, and d' G d is what the formula comes to as d
 * shrinks, which tests/cells/test_look checks. */
#include "eye/metric_tensor.h"

#include "base/simd8.h"
#include "colour/delta_e_8.h"
#include "colour/lab_curve_8.h"
#include "eye/eye.h"

#include <assert.h>

/* The curve of CIELAB at two ends, what it rises by along the chord, and its mean. Between cubes
 * that is (f - g) / (f^3 - g^3) = 1 / (f^2 + f g + g^2), whether or not they are the same; on the
 * curve's linear end it is the slope of the corner, which is the same for f = g = 6 / 29; and
 * across the corner the quotient itself, but for those that nearly meet there. */
typedef struct Chord {
    Simd8 slope, mean;
} Chord;

INLINED void chord_of(const Simd8 *one, const Simd8 *two, Chord *chord)
{
    const Simd8 corner = simd8(6.0f / 29.0f);
    Simd8 f, g;
    lab_curve_8(one, &f);
    lab_curve_8(two, &g);
    chord->mean = 0.5f * (f + g);
    const Simd8 run = *two - *one, size = simd8_size(run);
    const Simd8Whole across = ((f > corner) ^ (g > corner)) & (size > 1e-4f);
    const Simd8 quotient = (g - f) / simd8_either(across, run, simd8(1.0f));
    f = simd8_either(f > corner, f, corner);
    g = simd8_either(g > corner, g, corner);
    chord->slope = simd8_either(across, quotient, 1.0f / (f * f + f * g + g * g));
}

/* The weights of CIEDE2000 at one colour. */
typedef struct Weights {
    Simd8 stretch;      /* 1 + G, of a* */
    Simd8 cosine, sine; /* of the hue h' */
    Simd8 per_sl, per_sc, per_sh, rt;
} Weights;

INLINED void weights_at(const Quick *quick, const Simd8 *lightness, const Simd8 *a, const Simd8 *b,
                        Weights *w)
{
    const Simd8 one = simd8(1.0f), none = simd8(0.0f);
    const Simd8 plain2 = *a * *a + *b * *b, off = *lightness - 50.0f, off2 = off * off;
    Simd8 plain, saturation, chroma, root, t, turn;
    simd8_root(&plain2, &plain);
    saturation_of_8(&plain, &saturation);
    w->stretch = 1.5f - 0.5f * saturation;
    const Simd8 a1 = w->stretch * *a, chroma2 = a1 * a1 + *b * *b;
    simd8_root(&chroma2, &chroma);
    const Simd8Whole hued = chroma > 1e-6f;
    const Simd8 per_chroma = 1.0f / simd8_either(hued, chroma, one);
    w->cosine = simd8_either(hued, a1 * per_chroma, one);
    w->sine = simd8_either(hued, *b * per_chroma, none);
    hue_weight_8(&w->cosine, &w->sine, &t);
    turn_of_8(quick, &w->cosine, &w->sine, &turn);
    saturation_of_8(&chroma, &saturation);
    w->rt = -2.0f * saturation * turn;
    const Simd8 above_20 = 20.0f + off2;
    simd8_root(&above_20, &root);
    w->per_sl = root / (root + 0.015f * off2);
    w->per_sc = 1.0f / (1.0f + 0.045f * chroma);
    w->per_sh = 1.0f / (1.0f + 0.015f * chroma * t);
}

/* Rows X, Y, Z of the white's fractions by opponent value. */
typedef struct FromOpponent {
    float by[3][3];
} FromOpponent;

INLINED void chords_of(const FromOpponent *m, const Simd8 one[3], const Simd8 two[3], Chord out[3])
{
    for (int k = 0; k < 3; k++) {
        const float *by = m->by[k];
        const Simd8 p = by[0] * one[0] + by[1] * one[1] + by[2] * one[2];
        const Simd8 q = by[0] * two[0] + by[1] * two[1] + by[2] * two[2];
        chord_of(&p, &q, &out[k]);
    }
}

INLINED void tensors_of(const Quick *quick, const FromOpponent *m, const Simd8 one[3],
                        const Simd8 two[3], Simd8 out[OPPONENT_FORM])
{
    Chord chord[3];
    chords_of(m, one, two, chord);
    const Simd8 x = chord[0].mean, y = chord[1].mean, z = chord[2].mean;
    const Simd8 lightness = 116.0f * y - 16.0f, a = 500.0f * (x - y), b = 200.0f * (y - z);
    Weights w;
    weights_at(quick, &lightness, &a, &b, &w);
    Simd8 r[3][3]; /* weighted lightness, chroma and hue, by opponent value */
    for (int j = 0; j < 3; j++) {
        const Simd8 fx = chord[0].slope * m->by[0][j], fy = chord[1].slope * m->by[1][j],
                    fz = chord[2].slope * m->by[2][j];
        const Simd8 da = w.stretch * 500.0f * (fx - fy), db = 200.0f * (fy - fz);
        r[0][j] = 116.0f * fy * w.per_sl;
        r[1][j] = (w.cosine * da + w.sine * db) * w.per_sc;
        r[2][j] = (w.cosine * db - w.sine * da) * w.per_sh;
    }
    for (int i = 0, k = 0; i < 3; i++)
        for (int j = i; j < 3; j++)
            out[k++] = r[0][i] * r[0][j] + r[1][i] * r[1][j] + r[2][i] * r[2][j] +
                       0.5f * w.rt * (r[1][i] * r[2][j] + r[1][j] * r[2][i]);
}

static WIDE void tensor_rows(const Quick *quick, const FromOpponent *m, const float *const one[3],
                             const float *const two[3], int count, float *const out[OPPONENT_FORM])
{
    for (int i = 0; i < count; i += SIMD8) {
        const Simd8 p[3] = {simd8_at(one[0] + i), simd8_at(one[1] + i), simd8_at(one[2] + i)};
        const Simd8 q[3] = {simd8_at(two[0] + i), simd8_at(two[1] + i), simd8_at(two[2] + i)};
        Simd8 tensor[OPPONENT_FORM];
        tensors_of(quick, m, p, q, tensor);
        for (int k = 0; k < OPPONENT_FORM; k++) simd8_put(out[k] + i, tensor[k]);
    }
}

void metric_tensor_rows(const Quick *quick, const float *const one[3], const float *const two[3],
                        int count, float *const out[OPPONENT_FORM])
{
    assert(count % SIMD8 == 0);
    const Xyz w = WHITE_D50;
    const double white[3] = {w.x, w.y, w.z};
    FromOpponent m;
    for (int k = 0; k < 9; k++)
        m.by[k / 3][k % 3] = (float)(eye_xyz_from_opponent[k / 3][k % 3] / white[k / 3]);
    tensor_rows(quick, &m, one, two, count, out);
}
