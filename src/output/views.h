/* Views: what is to be seen of a plan that is open, as PNG in memory, no larger than asked for. */
#ifndef ROWLOCK_OUTPUT_VIEWS_H
#define ROWLOCK_OUTPUT_VIEWS_H

#include "base/memory_file.h"
#include "model/image.h"

/* The size of a picture. */
typedef struct ViewSize {
    double cell_width_mm, cell_height_mm;
    int pixels; /* the most across; 0: one a cell */
    int threads;
} ViewSize;

/* The colours of an image. *png_out, here and below, is the caller's to free, also after a
 * fault. */
Status view_image(const Image *image, const ViewSize *size, MemoryFile *png_out, Fault *fault);

/* The same as the eye sees it from a distance, mm; 0 is close by. */
Status view_image_seen(const Image *image, double distance_mm, const ViewSize *size,
                       MemoryFile *png_out, Fault *fault);

#endif
