/* The differential of CIEDE2000 (ISO/CIE 11664-6): steps of L', C' and H', each divided by its
 * weight, as linear functions of a step in opponent values; G is the sum of their squares and of
 * the rotation term. Invariant: G is symmetric, and d' G d is what the formula comes to as d
 * shrinks, which tests/cells/test_look checks. */
#include "eye/metric_tensor.h"

#include "eye/eye.h"

#include <math.h>

/* The curve of CIELAB and what it rises by along a chord. */
typedef struct Chord {
    double slope, mean;
} Chord;

static double curve(double t)
{
    return t > 216.0 / 24389.0 ? cbrt(t) : (24389.0 / 27.0 * t + 16.0) / 116.0;
}

static Chord chord(double one, double two)
{
    const double f1 = curve(one), f2 = curve(two), mean = 0.5 * (f1 + f2);
    /* Where the ends nearly meet, the chord is the tangent: f = t^(1/3), f' = 1 / (3 f^2). */
    double slope;
    if (fabs(two - one) > 1e-5 * (fabs(one) + 0.01))
        slope = (f2 - f1) / (two - one);
    else
        slope = mean > 6.0 / 29.0 ? 1.0 / (3.0 * mean * mean) : 24389.0 / 27.0 / 116.0;
    return (Chord){slope, mean};
}

static double seventh(double x)
{
    const double x2 = x * x, x4 = x2 * x2;
    return x4 * x2 * x;
}

/* C^7 / (C^7 + 25^7), step (4) and R_C of the formula, as its root. */
static double chroma_saturation(double chroma)
{
    const double c7 = seventh(chroma);
    return sqrt(c7 / (c7 + 6103515625.0));
}

/* The weights of CIEDE2000 (ISO/CIE 11664-6) at one colour. */
typedef struct Weights {
    double stretch;      /* 1 + G, of a* */
    double cosine, sine; /* of the hue h' */
    double sl, sc, sh, rt;
} Weights;

static Weights weights_at(double L, double a, double b)
{
    Weights w;
    w.stretch = 1.0 + 0.5 * (1.0 - chroma_saturation(sqrt(a * a + b * b)));
    const double a1 = w.stretch * a, chroma = sqrt(a1 * a1 + b * b);
    const double c = w.cosine = chroma > 1e-9 ? a1 / chroma : 1.0;
    const double s = w.sine = chroma > 1e-9 ? b / chroma : 0.0;
    /* T from the multiples of the hue by the addition theorems. */
    const double c2 = c * c - s * s, s2 = 2.0 * c * s;
    const double c3 = c * c2 - s * s2, s3 = s * c2 + c * s2;
    const double c4 = c2 * c2 - s2 * s2, s4 = 2.0 * c2 * s2;
    static const double cos30 = 0.86602540378443865, sin30 = 0.5;
    static const double cos6 = 0.99452189536827333, sin6 = 0.10452846326765347;
    static const double cos63 = 0.45399049973954675, sin63 = 0.89100652418836787;
    const double t = 1.0 - 0.17 * (c * cos30 + s * sin30) + 0.24 * c2 +
                     0.32 * (c3 * cos6 - s3 * sin6) - 0.20 * (c4 * cos63 + s4 * sin63);
    const double off = (L - 50.0) * (L - 50.0);
    w.sl = 1.0 + 0.015 * off / sqrt(20.0 + off);
    w.sc = 1.0 + 0.045 * chroma;
    w.sh = 1.0 + 0.015 * chroma * t;
    /* The turn is below 1e-5 degrees unless the hue is within 100 degrees of 275. */
    w.rt = 0.0;
    if (s < 0.17) {
        const double degree = acos(-1.0) / 180.0;
        double h = atan2(s, c) / degree;
        if (h < 0.0) h += 360.0;
        const double u = (h - 275.0) / 25.0;
        w.rt = -2.0 * chroma_saturation(chroma) * sin(60.0 * degree * exp(-u * u));
    }
    return w;
}

MetricTensor metric_tensor_between(const double one[3], const double two[3])
{
    const double(*xyz)[3] = eye_xyz_from_opponent;
    const Xyz p = eye_to_xyz(one), q = eye_to_xyz(two), white = WHITE_D50;
    const Chord x = chord(p.x / white.x, q.x / white.x), y = chord(p.y, q.y),
                z = chord(p.z / white.z, q.z / white.z);
    const double a = 500.0 * (x.mean - y.mean), b = 200.0 * (y.mean - z.mean);
    const Weights w = weights_at(116.0 * y.mean - 16.0, a, b);
    double r[3][3]; /* weighted lightness, chroma and hue, by opponent value */
    for (int j = 0; j < 3; j++) {
        const double fx = x.slope / white.x * xyz[0][j], fy = y.slope * xyz[1][j],
                     fz = z.slope / white.z * xyz[2][j];
        const double da = w.stretch * 500.0 * (fx - fy), db = 200.0 * (fy - fz);
        r[0][j] = 116.0 * fy / w.sl;
        r[1][j] = (w.cosine * da + w.sine * db) / w.sc;
        r[2][j] = (w.cosine * db - w.sine * da) / w.sh;
    }
    MetricTensor t;
    for (int i = 0, k = 0; i < 3; i++)
        for (int j = i; j < 3; j++)
            t.g[k++] = r[0][i] * r[0][j] + r[1][i] * r[1][j] + r[2][i] * r[2][j] +
                       0.5 * w.rt * (r[1][i] * r[2][j] + r[1][j] * r[2][i]);
    return t;
}
