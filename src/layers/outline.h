/* Outline: from a few strokes to a label for every pixel, along the picture's edges.
 *
 * A random walker with a weak colour prior gives each pixel its likeliest label. A piece that
 * holds no stroke of its label is refused, and its pixels go to the label around them that the
 * colours lead to most easily: without this rule colour alone would scatter islands all over the
 * picture. Then the outline is smoothed. Strokes keep their label throughout. */
#ifndef ROWLOCK_LAYERS_OUTLINE_H
#define ROWLOCK_LAYERS_OUTLINE_H

#include "base/voice.h"
#include "layers/lab_pixels.h"
#include "layers/random_walker.h"

#include <stdint.h>

typedef struct OutlineOptions {
    WalkerOptions walker;
    double smooth; /* sigma of what the labels are blurred by, pixels; 0: not at all */
    int coarse;    /* pixels from which on a coarser picture is solved for the start */
} OutlineOptions;

/* For 3 pixels a cell. */
#define OUTLINE_OPTIONS_DEFAULT                                                                    \
    ((OutlineOptions){.walker = WALKER_OPTIONS_DEFAULT, .smooth = 1.125, .coarse = 4096})

/* All planes are rows x columns. */
typedef struct Outline {
    uint8_t *label;
    uint8_t *refused; /* the label that a refused pixel looks like; LABEL_NONE for all others */
    float *margin;    /* chance of the likeliest label less that of the next, 0 to 1 */
} Outline;

/* Every label has some stroke. outline_clear also after a fault. */
Status outline_find(const OutlineOptions *options, const StrokedPixels *stroked,
                    Outline *outline_out, const Voice *voice, Fault *fault);
void outline_clear(Outline *outline);

#endif
