/* Label pieces: the pixels of one label that hang together by their sides. */
#ifndef ROWLOCK_LAYERS_LABEL_PIECES_H
#define ROWLOCK_LAYERS_LABEL_PIECES_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct LabelPiece {
    uint8_t label;
    bool held;          /* a stroke of its label lies in it */
    size_t size;        /* pixels */
    size_t first;       /* the first of its pixels, row by row */
    double column, row; /* the middle of its pixels, from 0 */
} LabelPiece;

typedef struct LabelPieces {
    size_t count, capacity;
    LabelPiece *piece;
    uint32_t *of; /* rows x columns: the piece of each pixel */
    uint32_t *queue;
} LabelPieces;

/* stroke: a label for each pixel, or LABEL_NONE. Pieces come in the order of their first
 * pixels. */
Status label_pieces_init(LabelPieces *pieces_out, const uint8_t *label, const uint8_t *stroke,
                         int columns, int rows, Fault *fault);
void label_pieces_clear(LabelPieces *pieces);

#endif
