/* Palettes for tests: the 24 patches of the classic colour-rendition target, and
 * random ones. */
#ifndef ROWLOCK_TESTS_PATCHES_H
#define ROWLOCK_TESTS_PATCHES_H

#include "model/palette.h"

#include "support/chance.h"

#include <stdint.h>
#include <stdio.h>

/* CIELAB D50, 2 degrees, as published for charts made after November 2014. */
static const Lab patches_lab[24] = {
    {37.54, 14.37, 14.92},  {64.66, 19.27, 17.5},    {49.32, -3.82, -22.54}, {43.46, -12.74, 22.72},
    {54.94, 9.61, -24.79},  {70.48, -32.26, -0.37},  {62.73, 35.83, 56.5},   {39.43, 10.75, -45.17},
    {50.57, 48.64, 16.67},  {30.1, 22.54, -20.87},   {71.77, -24.13, 58.19}, {71.51, 18.24, 67.37},
    {28.37, 15.42, -49.8},  {54.38, -39.72, 32.27},  {42.43, 51.05, 28.62},  {81.8, 2.67, 80.41},
    {50.63, 51.28, -14.12}, {49.57, -29.71, -28.32}, {95.19, -1.03, 2.93},   {81.29, -0.57, 0.44},
    {66.89, -0.75, -0.06},  {50.76, -0.13, 0.14},    {35.63, -0.46, -0.48},  {20.64, 0.07, -0.46},
};

static inline void palette_add(Palette *palette, Lab lab)
{
    Colour *colour = &palette->colour[palette->count++];
    snprintf(colour->id, sizeof colour->id, "%d", palette->count);
    colour->name[0] = '\0';
    colour->lab = lab;
    colour->xyz = xyz_from_lab(lab);
    srgb8_from_lab(lab, colour->srgb);
}

static inline void palette_of_patches(Palette *palette)
{
    palette->count = 0;
    for (int i = 0; i < 24; i++) palette_add(palette, patches_lab[i]);
}

static inline Lab draw_srgb(uint64_t *state)
{
    const Rgb rgb = {srgb_decode(draw_between(state, 0, 1)), srgb_decode(draw_between(state, 0, 1)),
                     srgb_decode(draw_between(state, 0, 1))};
    return lab_from_xyz(xyz_from_linear(rgb));
}

static inline void palette_of_draws(Palette *palette, int count, uint64_t seed)
{
    palette->count = 0;
    while (palette->count < count) palette_add(palette, draw_srgb(&seed));
}

#endif
