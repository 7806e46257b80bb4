/* Colour prior: which layer a colour looks like, from the colours under its strokes.
 *
 * A histogram a label of 20 x 20 x 20 bins of CIELAB, each 5 of L by 6 of a and b, smoothed by
 * (1 2 1)/4 along each axis; then for each bin the label's share among all, each with a floor. */
#ifndef ROWLOCK_LAYERS_COLOUR_PRIOR_H
#define ROWLOCK_LAYERS_COLOUR_PRIOR_H

#include "layers/lab_pixels.h"

#include <stdint.h>

typedef struct ColourPrior {
    int labels;
    uint16_t *bin; /* of each pixel */
    float *share;  /* labels x bins; those of a bin add to 1 */
} ColourPrior;

/* stroke: a label for each pixel, or LABEL_NONE. */
Status colour_prior_init(ColourPrior *prior_out, const LabPixels *pixels, const uint8_t *stroke,
                         int labels, Fault *fault);
void colour_prior_clear(ColourPrior *prior);

/* How much like a label a pixel is, 0 to 1. */
float colour_prior_at(const ColourPrior *prior, int label, size_t pixel);

#endif
