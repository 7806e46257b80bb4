/* Stroked cells: from strokes on a picture to a label for each cell, along the picture's edges. In
 * three steps, so that callers can look at the strokes before, and at the outline after. */
#ifndef ROWLOCK_RELIEF_STROKED_CELLS_H
#define ROWLOCK_RELIEF_STROKED_CELLS_H

#include "layers/outline.h"
#include "model/image.h"
#include "relief/layer_picture.h"

typedef struct StrokedCells {
    int columns, rows; /* cells */
    int per;           /* pixels a cell each way, in which outlines are looked for */
    int threads;
    LabPixels pixels;
    uint8_t *stroke; /* by pixel: a label, or LABEL_NONE */
    Outline outline; /* by pixel */
} StrokedCells;

/* Takes the strokes. image: what the cells show, at 1 or more pixels a cell each way. The caller
 * sets columns, rows and threads; stroked_cells_clear also after a fault. */
Status stroked_cells_init(StrokedCells *s, const Image *image, const LayerPicture *drawn,
                          Fault *fault);

/* Finds the outlines. Of the labels, two or more, each has a stroke. */
Status stroked_cells_find(StrokedCells *s, int labels, const Voice *voice, Fault *fault);

/* Fills in the label of each cell. */
Status stroked_cells_label(const StrokedCells *s, int labels, uint8_t *label_out, Fault *fault);

void stroked_cells_clear(StrokedCells *s);

#endif
