/* Laid: the bricks that fill the solid, each with its place, size and colour. */
#ifndef ROWLOCK_MODEL_LAID_H
#define ROWLOCK_MODEL_LAID_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* A box of units; places count from 0, row 0 at the bottom, tier 0 at the back. In a
 * plaque tiers is 1, in a wall rows is 1. */
typedef struct Brick {
    int32_t column, row;
    int32_t panel; /* index into Panels */
    uint8_t tier;
    uint8_t columns, rows, tiers; /* extent, at least 1 */
    uint8_t size;                 /* index into Sizes */
    uint8_t colour;               /* palette index */
    uint8_t shown;                /* 1 if any unit can be seen */
} Brick;

/* Bricks stand in building order: panel by panel; in a plaque tier by tier outward,
 * in a tier row by row upward, in a row left to right; in a wall row by row upward,
 * in a row tier by tier outward, left to right. That order is laid_order's. */
typedef struct Laid {
    size_t count, capacity;
    Brick *brick;
} Laid;

Status laid_add(Laid *laid, const Brick *brick, Fault *fault);
void laid_sort(Laid *laid, int wall);
/* For each brick of the laying, whether it is of `part`; both are in building order. */
Status laid_mark(const Laid *laid, const Laid *part, bool **marks_out, Fault *fault);
void laid_clear(Laid *laid);

#endif
