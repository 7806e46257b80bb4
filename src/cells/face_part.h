/* Face part: a rectangle of a face with all that is asked of its cells, as a face of its own: where
 * only some cells are chosen anew, the rest of the face need not be looked at. */
#ifndef ROWLOCK_CELLS_FACE_PART_H
#define ROWLOCK_CELLS_FACE_PART_H

#include "model/grid.h"
#include "model/image.h"

/* What there is of a face, by cell, row 0 at the bottom. What is NULL stays so. */
typedef struct FaceCells {
    int columns, rows;
    const float *target; /* XYZ, three numbers a cell */
    const uint8_t *colour;
    const bool *marked;
    Keep keep;
    CellWeights weights;
} FaceCells;

typedef struct FacePart {
    int left, low; /* where its first cell is in the face */
    FaceCells cells;
    void *memory[8]; /* all that `cells` points to */
} FacePart;

/* The least part that has all marked cells and `margin` more on all sides, as far as the face goes;
 * of no cells where none is marked. face_part_clear also after a fault: no memory. */
Status face_part_init(FacePart *part_out, const FaceCells *face, int margin, Fault *fault);
void face_part_clear(FacePart *part);

/* Puts the colours of a part into those of its face. */
void face_part_put(const FacePart *part, const uint8_t *colour, Grid *face);

#endif
