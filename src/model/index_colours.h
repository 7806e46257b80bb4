/* Index colours: the palettes of pictures whose indices mean something: the steps of a cell, the
 * layer of a cell. A person paints with them, so they are easy to tell apart; a program that puts
 * them into another order does no harm, since each stands but once. */
#ifndef ROWLOCK_MODEL_INDEX_COLOURS_H
#define ROWLOCK_MODEL_INDEX_COLOURS_H

#include "base/raster.h"

#include <stdint.h>

enum { INDEX_COLOURS = 256 };

/* sRGB of so many steps, 0 to 255: from dark blue over green, yellow and red to white, a dozen at
 * a time, each dozen paler than the last. */
void step_colour(int steps, uint8_t rgb_out[3]);

/* sRGB of a layer by its index in pictures, 0 to 255: 0 black, 1 grey. */
void layer_colour(int index, uint8_t rgb_out[3]);

/* sRGB of every index. */
typedef struct IndexColours {
    uint8_t rgb[INDEX_COLOURS][3];
} IndexColours;

/* Reckoned once for all pixels of a picture; colour: one of the two above. */
void index_colours_init(IndexColours *out, void (*colour)(int index, uint8_t rgb_out[3]));

/* The steps, or the index, that a colour stands for; -1: none. */
int index_of_colour(const IndexColours *colours, const uint8_t rgb[3]);

/* What each index of a raster stands for. A paint program may put a palette into another order:
 * what counts is the colour, if all that are used are ours, and else the index. */
void index_colours_read(const IndexColours *colours, const Raster *raster, int index_out[256]);

#endif
