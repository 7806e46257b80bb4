/* CIEDE2000 as ISO/CIE 11664-6 writes it down; the numbers in the comments are the
 * equations of Sharma, Wu and Dalal 2005 (doi:10.1002/col.20070), who restate the
 * standard with every branch spelled out. Angles are in degrees as there.
 *
 * Where two hues are 180 degrees apart the mean hue may go either way round. The
 * published pairs 10 and 14 lie on that fork exactly, so what rounding leaves above
 * 180 counts as 180. */
#include "colour/delta_e.h"

#include <math.h>
#include <stdbool.h>

static const double degree = M_PI / 180.0;
static const double fork = 180.0 + 1e-9;

/* sqrt(C^7 / (C^7 + 25^7)), in (4) and (17). */
static double saturation(double chroma)
{
    const double c3 = chroma * chroma * chroma, c7 = c3 * c3 * chroma;
    return sqrt(c7 / (c7 + 6103515625.0));
}

/* (7): 0 to 360, and 0 for a neutral. */
static double hue(double a, double b)
{
    if (a == 0.0 && b == 0.0) return 0.0;
    const double h = atan2(b, a) / degree;
    return h < 0.0 ? h + 360.0 : h;
}

/* (14), for two colours that are not neutral. */
static double mean_hue(double one, double two)
{
    const double sum = one + two;
    if (fabs(one - two) <= fork) return sum / 2.0;
    return sum < 360.0 ? (sum + 360.0) / 2.0 : (sum - 360.0) / 2.0;
}

/* (10), for two colours that are not neutral. */
static double hue_step(double one, double two)
{
    const double step = two - one;
    return fabs(step) <= fork ? step : step > 0.0 ? step - 360.0 : step + 360.0;
}

double delta_e_2000(Lab one, Lab two)
{
    /* (2) to (7): a* is stretched where chroma is low, then polar coordinates. */
    const double mean_c_ab = (hypot(one.a, one.b) + hypot(two.a, two.b)) / 2.0;
    const double g = 0.5 * (1.0 - saturation(mean_c_ab));
    const double a1 = (1.0 + g) * one.a, a2 = (1.0 + g) * two.a;
    const double c1 = hypot(a1, one.b), c2 = hypot(a2, two.b);
    const double h1 = hue(a1, one.b), h2 = hue(a2, two.b);
    const bool neutral = c1 * c2 == 0.0;

    /* (8) to (11) */
    const double dl = two.L - one.L;
    const double dc = c2 - c1;
    const double dh = neutral ? 0.0 : 2.0 * sqrt(c1 * c2) * sin(hue_step(h1, h2) / 2.0 * degree);

    /* (12) to (14) */
    const double l = (one.L + two.L) / 2.0;
    const double c = (c1 + c2) / 2.0;
    const double h = neutral ? h1 + h2 : mean_hue(h1, h2);

    /* (15) */
    const double t = 1.0 - 0.17 * cos((h - 30.0) * degree) + 0.24 * cos(2.0 * h * degree) +
                     0.32 * cos((3.0 * h + 6.0) * degree) - 0.20 * cos((4.0 * h - 63.0) * degree);

    /* (16) to (21) */
    const double turn = 30.0 * exp(-((h - 275.0) / 25.0) * ((h - 275.0) / 25.0));
    const double rc = 2.0 * saturation(c);
    const double l50 = (l - 50.0) * (l - 50.0);
    const double sl = 1.0 + 0.015 * l50 / sqrt(20.0 + l50);
    const double sc = 1.0 + 0.045 * c;
    const double sh = 1.0 + 0.015 * c * t;
    const double rt = -sin(2.0 * turn * degree) * rc;

    /* (22) */
    const double x = dc / sc, y = dl / sl, z = dh / sh;
    const double square = y * y + x * x + z * z + rt * x * z;
    return square > 0.0 ? sqrt(square) : 0.0;
}
