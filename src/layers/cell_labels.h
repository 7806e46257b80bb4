/* Cell labels: a label for each cell, from a picture of labels at any size. */
#ifndef ROWLOCK_LAYERS_CELL_LABELS_H
#define ROWLOCK_LAYERS_CELL_LABELS_H

#include "base/status.h"

#include <stdint.h>

/* A picture of labels, and the part of it that the cells show. */
typedef struct LabelPicture {
    int columns, rows; /* pixels, row 0 at the bottom */
    const uint8_t *label;
    double left, bottom, width, height; /* pixels */
} LabelPicture;

typedef struct CellLabelOptions {
    double smooth; /* sigma of what the shares are blurred by, cells; 0: not at all */
    int least;     /* pieces of fewer cells without a stroke go to what is around them */
} CellLabelOptions;

/* A drawn outline is taken as it is; one that was found keeps no teeth and crumbs: measured, a
 * blur takes the teeth of a picture from 13 to 8 and moves no outline by a cell. */
#define CELL_LABELS_AS_DRAWN ((CellLabelOptions){0, 0})
#define CELL_LABELS_OF_STROKES ((CellLabelOptions){.smooth = 0.7, .least = 6})

/* What part of each cell's area each label has: share_out holds labels x rows x columns. Pixels
 * of other labels, LABEL_NONE among them, count for none. */
void cell_shares(const LabelPicture *picture, int labels, int columns, int rows, int threads,
                 float *share_out);

/* Shares of the cells, labels x rows x columns each. */
typedef struct CellShares {
    int labels, columns, rows, threads;
    float *share;        /* of the labels; used up */
    const float *stroke; /* of what strokes cover; NULL: there are none */
} CellShares;

/* The label with the greatest share of each cell, the lowest of several. With strokes, a cell half
 * of which or more is stroke keeps its label, and no piece that a stroke touches is too small. */
Status cell_labels(const CellLabelOptions *options, const CellShares *shares, uint8_t *label_out,
                   Fault *fault);

#endif
