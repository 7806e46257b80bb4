/* Geodesic: each pixel takes the label of the source from which the picture's colours change
 * least on the way.
 *
 * A step from a pixel to one of its eight neighbours costs its length times `creep`, and the
 * difference of their colours. The label of the nearest source travels along (Toivanen, Pattern
 * Recognition Letters 17:437-450, 1996; Bai and Sapiro, IJCV 82, 2009, from memory). */
#ifndef ROWLOCK_LAYERS_GEODESIC_H
#define ROWLOCK_LAYERS_GEODESIC_H

#include "layers/lab_pixels.h"

#include <stdint.h>

enum { LABEL_NONE = 255 }; /* a pixel that has no label yet */

/* Colour difference that a step of one pixel in flat colour counts for. */
#define GEODESIC_CREEP 0.15

/* Pixels whose label is not LABEL_NONE are sources; all others take one, where there is any
 * source. distance, rows x columns, holds what the way cost. One thread; the distances are
 * exact sums, so it is the same in any order. Fault: no memory. */
Status geodesic_spread(const LabPixels *pixels, double creep, uint8_t *label, float *distance,
                       Fault *fault);

#endif
