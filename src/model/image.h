/* Image: what the face should look like, one colour a cell, before it is matched.
 *
 * XYZ D50 in linear light, row 0 at the bottom of the mural: every grid of cells
 * in the program has row 0 at the bottom and column 0 at the left as viewed. Only
 * readers and writers of pictures turn rows over. */
#ifndef ROWLOCK_MODEL_IMAGE_H
#define ROWLOCK_MODEL_IMAGE_H

#include "base/status.h"
#include "colour/colour.h"

#include <stddef.h>

enum { GRID_MOST = 20000 }; /* the most columns, or rows, of a mural */

typedef struct Image {
    int columns, rows;
    float *xyz; /* rows x columns x 3 */
} Image;

Status image_init(Image *image, int columns, int rows, Fault *fault);
void image_clear(Image *image);

static inline Xyz image_at(const Image *image, int column, int row)
{
    const float *p = image->xyz + 3 * ((size_t)row * (size_t)image->columns + (size_t)column);
    return (Xyz){(double)p[0], (double)p[1], (double)p[2]};
}

#endif
