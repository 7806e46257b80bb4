/* Layer pictures: what the layers of a subject came to, to look at and to edit. One pixel a cell,
 * row `rows` on top, but for outlines.png. */
#ifndef ROWLOCK_OUTPUT_LAYER_PICTURES_H
#define ROWLOCK_OUTPUT_LAYER_PICTURES_H

#include "model/image.h"
#include "output/paint.h"
#include "relief/subject.h"

/* layers.png: each cell's layer by its index, in the colours of model/index_colours. */
Status layers_png_write(const Subject *subject, const PaintPlace *place, Fault *fault);

/* depth.png: heights as 16-bit grey, 65535 the most steps that may be. */
Status depth_png_write(const Subject *subject, const PaintPlace *place, Fault *fault);

/* outlines.png: the image of cells, tinted by layer, with every outline; what is not to be
 * trusted is marked: a guessed outline is dashed, a refused piece hatched, a cell whose stroke was
 * lost crossed. */
Status outlines_png_write(const Subject *subject, const Image *image, int threads,
                          const PaintPlace *place, Fault *fault);

#endif
