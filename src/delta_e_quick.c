#include "delta_e_quick.h"

#include <math.h>

static const double degree = M_PI / 180.0;

void quick_init(Quick *quick)
{
    for (int i = 0; i <= QUICK_TURNS + 1; i++) {
        const double u = i < QUICK_TURNS ? 2.0 * i / QUICK_TURNS - 1.0 : 1.0;
        const double h = 270.0 + atan2(u, 1.0 - fabs(u)) / degree;
        const double away = (h - 275.0) / 25.0;
        quick->turn[i] = (float)sin(60.0 * degree * exp(-away * away));
    }
}

QuickColour quick_colour(Lab lab)
{
    return (QuickColour){lab.L, lab.a, lab.b, sqrt(lab.a * lab.a + lab.b * lab.b)};
}

static double seventh(double c)
{
    const double c3 = c * c * c;
    return c3 * c3 * c;
}

/* sqrt(C^7 / (C^7 + 25^7)) */
static double saturation(double chroma)
{
    const double c7 = seventh(chroma);
    return sqrt(c7 / (c7 + 6103515625.0));
}

/* sin(2 dtheta) for a mean hue of the direction (x, y). */
static double turn_of(const Quick *quick, double x, double y)
{
    if (y >= 0.0) return 0.0;
    const double place = (x / (fabs(x) - y) + 1.0) * (QUICK_TURNS / 2);
    const int i = (int)place;
    const double low = (double)quick->turn[i], high = (double)quick->turn[i + 1];
    return low + (high - low) * (place - i);
}

/* (15) for a mean hue of cosine c and sine s. */
static double hue_weight(double c, double s)
{
    const double cos30 = 0.86602540378443865, sin30 = 0.5;
    const double cos6 = 0.99452189536827333, sin6 = 0.10452846326765347;
    const double cos63 = 0.45399049973954675, sin63 = 0.89100652418836787;
    const double c2 = c * c - s * s, s2 = 2.0 * s * c;
    const double c3 = c2 * c - s2 * s, s3 = s2 * c + c2 * s;
    const double c4 = c2 * c2 - s2 * s2, s4 = 2.0 * s2 * c2;
    return 1.0 - 0.17 * (c * cos30 + s * sin30) + 0.24 * c2 + 0.32 * (c3 * cos6 - s3 * sin6) -
           0.20 * (c4 * cos63 + s4 * sin63);
}

double quick_lightness(const QuickColour *one, const QuickColour *two)
{
    const double l50 = (one->L + two->L) / 2.0 - 50.0, square = l50 * l50;
    const double sl = 1.0 + 0.015 * square / sqrt(20.0 + square);
    const double y = (two->L - one->L) / sl;
    return y * y;
}

double quick_square(const Quick *quick, const QuickColour *one, const QuickColour *two)
{
    const double stretch = 1.5 - 0.5 * saturation((one->chroma + two->chroma) / 2.0);
    const double a1 = stretch * one->a, a2 = stretch * two->a;
    const double c1 = sqrt(a1 * a1 + one->b * one->b), c2 = sqrt(a2 * a2 + two->b * two->b);
    const double mean = (c1 + c2) / 2.0, product = c1 * c2;
    const double light = quick_lightness(one, two);
    const double x = (c2 - c1) / (1.0 + 0.045 * mean);
    if (product < 1e-12) return light + x * x;

    /* The sum of the unit vectors points to the mean hue; it vanishes at the fork. */
    const double mx = a1 * c2 + a2 * c1, my = one->b * c2 + two->b * c1;
    const double length = sqrt(mx * mx + my * my);
    if (length < 1e-4 * product) return -1.0;
    const double t = hue_weight(mx / length, my / length);
    const double da = a2 - a1, db = two->b - one->b, dc = c2 - c1;
    const double h2 = fmax(da * da + db * db - dc * dc, 0.0);
    const double h = a1 * two->b - a2 * one->b < 0.0 ? -sqrt(h2) : sqrt(h2);
    const double z = h / (1.0 + 0.015 * mean * t);
    const double turn = turn_of(quick, mx, my);
    if (turn == 0.0) return light + x * x + z * z;
    return light + x * x + z * z - 2.0 * turn * saturation(mean) * x * z;
}
