/* The formulas as the standards print them (CIE 15:2018, IEC 61966-2-1), in doubles and without
 * clipping: colours outside a gamut pass through and come back. The tests hold the standards'
 * own values against them. */
#include "colour/colour.h"

#include <math.h>

static double lab_curve(double t)
{
    return t > 216.0 / 24389.0 ? cbrt(t) : (24389.0 / 27.0 * t + 16.0) / 116.0;
}

static double lab_curve_inverse(double f)
{
    return f > 6.0 / 29.0 ? f * f * f : (116.0 * f - 16.0) * 27.0 / 24389.0;
}

Lab lab_from_xyz(Xyz xyz)
{
    const double fx = lab_curve(xyz.x / WHITE_D50.x);
    const double fy = lab_curve(xyz.y / WHITE_D50.y);
    const double fz = lab_curve(xyz.z / WHITE_D50.z);
    return (Lab){116.0 * fy - 16.0, 500.0 * (fx - fy), 200.0 * (fy - fz)};
}

Xyz xyz_from_lab(Lab lab)
{
    const double fy = (lab.L + 16.0) / 116.0;
    return (Xyz){WHITE_D50.x * lab_curve_inverse(fy + lab.a / 500.0),
                 WHITE_D50.y * lab_curve_inverse(fy),
                 WHITE_D50.z * lab_curve_inverse(fy - lab.b / 200.0)};
}

Xyz xyz_from_linear(Rgb c)
{
    return (Xyz){0.4360412516 * c.r + 0.3851129108 * c.g + 0.1430458376 * c.b,
                 0.2224845402 * c.r + 0.7169050786 * c.g + 0.0606103812 * c.b,
                 0.0139201875 * c.r + 0.0970672387 * c.g + 0.7139125738 * c.b};
}

Rgb linear_from_xyz(Xyz c)
{
    /* The inverse of the matrix above. */
    return (Rgb){3.1341863643069 * c.x - 1.6172089590601 * c.y - 0.4906940640133 * c.z,
                 -0.9787485040876 * c.x + 1.9161300967567 * c.y + 0.0334333990599 * c.z,
                 0.0719639276683 * c.x - 0.2289938734027 * c.y + 1.4057537329918 * c.z};
}

/* Share of the way from the neutral that a channel may go. */
static double share_in_gamut(double neutral, double channel)
{
    if (channel < 0.0) return neutral / (neutral - channel);
    if (channel > 1.0) return (1.0 - neutral) / (channel - neutral);
    return 1.0;
}

Rgb linear_into_gamut(Rgb c)
{
    const double least = fmin(c.r, fmin(c.g, c.b)), most = fmax(c.r, fmax(c.g, c.b));
    if (least >= 0.0 && most <= 1.0) return c;
    const double y = fmin(1.0, fmax(0.0, xyz_from_linear(c).y));
    const double share = fmin(share_in_gamut(y, least), share_in_gamut(y, most));
    return (Rgb){y + share * (c.r - y), y + share * (c.g - y), y + share * (c.b - y)};
}

double srgb_decode(double v)
{
    if (v < 0.0) return -srgb_decode(-v);
    return v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4);
}

double srgb_encode(double v)
{
    if (v < 0.0) return -srgb_encode(-v);
    return v <= 0.0031308 ? 12.92 * v : 1.055 * pow(v, 1.0 / 2.4) - 0.055;
}

static uint8_t to_8_bits(double linear)
{
    const double v = srgb_encode(linear);
    return v <= 0.0 ? 0 : v >= 1.0 ? 255 : (uint8_t)(v * 255.0 + 0.5);
}

void srgb8_from_linear(Rgb c, uint8_t out[3])
{
    out[0] = to_8_bits(c.r);
    out[1] = to_8_bits(c.g);
    out[2] = to_8_bits(c.b);
}

/* The least number that to_8_bits turns into `byte`, found near where the inverse says. */
static double edge_of(int byte)
{
    double v = srgb_decode(((double)byte - 0.5) / 255.0);
    while (to_8_bits(v) < byte) v = nextafter(v, 2.0);
    for (double below = nextafter(v, 0.0); to_8_bits(below) >= byte; below = nextafter(v, 0.0))
        v = below;
    return v;
}

void srgb8_init(Srgb8 *table)
{
    table->edge[0] = -HUGE_VAL;
    for (int byte = 1; byte < 256; byte++) table->edge[byte] = edge_of(byte);
    table->edge[256] = HUGE_VAL;
    for (int i = 0; i < SRGB8_STEPS; i++) table->first[i] = to_8_bits((double)i / SRGB8_STEPS);
}

static uint8_t look_up(const Srgb8 *table, double v)
{
    if (!(v > 0.0)) return 0;
    if (v >= 1.0) return 255;
    /* Edges are no nearer than 1 / (255 * 12.92), so a step has one at most. */
    const int byte = table->first[(int)(v * SRGB8_STEPS)];
    return (uint8_t)(byte + (v >= table->edge[byte + 1]));
}

void srgb8_look_up(const Srgb8 *table, Rgb c, uint8_t out[3])
{
    out[0] = look_up(table, c.r);
    out[1] = look_up(table, c.g);
    out[2] = look_up(table, c.b);
}

void srgb8_from_lab(Lab lab, uint8_t out[3])
{
    srgb8_from_linear(linear_from_xyz(xyz_from_lab(lab)), out);
}

Lab lab_from_srgb8(const uint8_t c[3])
{
    return lab_from_xyz(xyz_from_linear(
        (Rgb){srgb_decode(c[0] / 255.0), srgb_decode(c[1] / 255.0), srgb_decode(c[2] / 255.0)}));
}
