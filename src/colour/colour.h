/* Colour: sRGB, XYZ and CIELAB. One white for every Lab and XYZ in the program:
 * the ICC profile connection space's D50 (0.9642, 1, 0.8249), 2 degree observer.
 * Lab is L* 0 to 100, a*, b* about -128 to 128; XYZ is relative, white Y = 1. */
#ifndef ROWLOCK_COLOUR_COLOUR_H
#define ROWLOCK_COLOUR_COLOUR_H

#include <stdint.h>

typedef struct Xyz {
    double x, y, z;
} Xyz; /* D50, linear light */
typedef struct Lab {
    double L, a, b;
} Lab; /* D50 */
typedef struct Rgb {
    double r, g, b;
} Rgb; /* sRGB primaries, linear light, 0 to 1 in gamut */

#define WHITE_D50 ((Xyz){0.9642, 1.0, 0.8249})

/* CIE 15:2018 section 8, with the exact fractions 216/24389 and 24389/27. */
Lab lab_from_xyz(Xyz xyz);
Xyz xyz_from_lab(Lab lab);

/* Linear sRGB to XYZ D50: IEC 61966-2-1 primaries, Bradford-adapted. */
Xyz xyz_from_linear(Rgb rgb);
Rgb linear_from_xyz(Xyz xyz);

/* IEC 61966-2-1 transfer function, 0 to 1 both ways; odd-symmetric below 0. */
double srgb_decode(double encoded);
double srgb_encode(double linear);

/* The colour where the straight line, in linear light, from this one to the neutral of its
 * luminance enters the gamut: luminance, limited to 0 to 1, and hue stay, chroma gives way. Colours
 * in gamut stay as they are. */
Rgb linear_into_gamut(Rgb rgb);

/* 8-bit sRGB for a screen; channels outside the gamut are clipped. */
void srgb8_from_lab(Lab lab, uint8_t rgb_out[3]);
void srgb8_from_linear(Rgb rgb, uint8_t rgb_out[3]);
Lab lab_from_srgb8(const uint8_t rgb[3]);

/* srgb8_from_linear by a table, for whole pictures: the same bytes. */
enum { SRGB8_STEPS = 4096 };
typedef struct Srgb8 {
    double edge[257];           /* the least linear value that becomes this byte; the last: none */
    uint8_t first[SRGB8_STEPS]; /* the byte of a linear i / SRGB8_STEPS */
} Srgb8;

void srgb8_init(Srgb8 *table);
void srgb8_look_up(const Srgb8 *table, Rgb rgb, uint8_t rgb_out[3]);

#endif
