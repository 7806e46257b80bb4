/* Merge bricks: a brick takes its neighbour's colour where the eye does not mind, and the two
 * become one.
 *
 * The price of joints only guesses at bricks. Once a face is laid, what some changes save
 * is known: a brick whose whole side lies along a neighbour's, so that both together are a
 * brick of the set, is one brick less. It is offered to the objective at the price of a
 * brick. */
#ifndef ROWLOCK_CELLS_MERGE_BRICKS_H
#define ROWLOCK_CELLS_MERGE_BRICKS_H

#include "cells/face_bricks.h"
#include "cells/search_state.h"
#include "model/sizes.h"

typedef struct BrickMerging {
    FaceBricks *bricks; /* kept as they become */
    const Sizes *sizes;
    const double *cost; /* of one brick of each size, their mean 1; NULL: all alike */
    double price;       /* of a brick */
} BrickMerging;

/* Offers every brick once; returns how many cells changed colour. Cells that are kept
 * stay; limits do not hold. */
long merge_bricks_sweep(BrickMerging *merging, SearchState *state);

#endif
