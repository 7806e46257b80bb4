/* Face bricks: the bricks that a flat face is made of, as they were laid, cell by cell. */
#ifndef ROWLOCK_CELLS_FACE_BRICKS_H
#define ROWLOCK_CELLS_FACE_BRICKS_H

#include "base/status.h"
#include "model/grid.h"
#include "model/laid.h"

/* In a wall only what reaches its face; `deep` is its extent across the courses, seen from
 * above: rows of a plaque, tiers of a wall. */
typedef struct FaceBrick {
    int32_t column, row, panel;
    uint8_t columns, rows, deep; /* columns is 0 once it is part of another */
} FaceBrick;

typedef struct FaceBricks {
    int columns, rows; /* of the face */
    size_t count;
    FaceBrick *brick;
    int32_t *at; /* rows x columns: the cell's brick */
} FaceBricks;

/* Every cell of the face must be covered. */
Status face_bricks_init(FaceBricks *face_bricks_out, const Solid *solid, const Laid *laid,
                        Fault *fault);
void face_bricks_clear(FaceBricks *bricks); /* {0} allowed */

#endif
