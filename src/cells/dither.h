/* Dither: mixing the palette's colours over neighbouring cells, as the eye mixes them
 * from afar: by adding light. All of it is done in linear sRGB. The plain choice
 * without mixing is match_image. */
#ifndef ROWLOCK_CELLS_DITHER_H
#define ROWLOCK_CELLS_DITHER_H

#include "base/status.h"
#include "base/voice.h"
#include "model/grid.h"
#include "model/image.h"
#include "model/palette.h"

enum { DITHER_MOST_MIXED = 64 };

typedef struct DitherOptions {
    /* The most error that is carried on from a cell, as the length of a vector in linear
     * sRGB (white is 1, 1, 1); above 0. A palette with wider gaps gets more, as much as
     * mixing across them takes: see dither_cap. */
    double cap;
    /* How much of the error is carried on, 0 to 1. */
    double share;
    /* Blue noise: how many cells' worth of colours are mixed for each cell, a power of
     * two from 2 to DITHER_MOST_MIXED. */
    int mixed;
    Keep keep;          /* in error diffusion, what kept cells show is off, too, and carried on */
    int threads;        /* of blue noise; never changes the result */
    const Voice *voice; /* NULL: nobody listens */
} DitherOptions;

extern const DitherOptions dither_defaults;

/* The cap that is used: the given one, or what the palette takes, if that is more. Four
 * colours as far from each other as the widest gap between neighbours (two colours with
 * no third in the ball between them) have a place in their middle that is sqrt(3/2) of
 * half the gap away from each. A cell of that colour is off by as much whichever it
 * takes, and to carry less on would mix short of the mark. */
double dither_cap(const Palette *palette, const DitherOptions *options);

/* Error diffusion by Floyd and Steinberg (1976): row by row from the top, every other
 * row backwards; one cell waits for the other, so one thread does all of it. grid has the image's
 * size. Faults: no memory; stopped. */
Status dither_floyd_steinberg(const Palette *palette, const Image *image,
                              const DitherOptions *options, Grid *grid, Fault *fault);

/* Every cell by itself: the colours whose mean is the cell's, sorted by luminance, of
 * which a blue-noise threshold (Ulichney 1993, void and cluster) takes one. A change to
 * the picture changes no cell elsewhere. Faults: no memory; stopped. */
Status dither_blue_noise(const Palette *palette, const Image *image, const DitherOptions *options,
                         Grid *grid, Fault *fault);

/* The threshold: ranks 0 to 4095 on a torus of 64 by 64, for `rank` of 4096. */
enum { NOISE_SIDE = 64, NOISE_CELLS = NOISE_SIDE * NOISE_SIDE };
void dither_noise(uint16_t rank[NOISE_CELLS]);

#endif
