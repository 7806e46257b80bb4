/* Shape: the brick set as the tiler sees it, rectangles with a side along the columns
 * and a side along the rows, each with its cost in whole units.
 *
 * Costs are whole numbers so that sums are exact, bounds are proven and no order of
 * adding changes a result. SHAPE_ONE stands for the dearest brick. */
#ifndef ROWLOCK_BRICKS_TILING_SHAPE_H
#define ROWLOCK_BRICKS_TILING_SHAPE_H

#include "model/sizes.h"

#include <stdint.h>

enum { SHAPE_ONE = 1 << 20, SHAPES_MOST = 2 * SIZES_MOST + 1 };

/* The size of a cell left bare: a shape only in a set without 1x1, so that a search may
 * pass a place that it cannot fill. */
enum { SHAPE_BARE = 255, SHAPE_BARE_COST = 16 * SHAPE_ONE };

typedef struct Shape {
    uint8_t columns, rows;
    uint8_t size; /* index into Sizes, or SHAPE_BARE */
    int32_t cost; /* 0 to SHAPE_ONE */
} Shape;

typedef struct Shapes {
    int count;   /* by area, largest first; of equal area as in the set, the wide before the high */
    int longest; /* the longest side */
    int32_t step; /* every cost is a multiple of it */
    double unit;  /* no brick costs less than this for each unit of its shape's cost */
    Shape shape[SHAPES_MOST];
} Shapes;

/* The greatest common divisor; that of 0 and a number is the number. */
int32_t shapes_common_divisor(int32_t a, int32_t b);

/* cost: of each size, >= 0, INFINITY for a size that must not be used; NULL: all cost
 * the same. Of sizes that look alike the cheapest is kept. */
void shapes_init(Shapes *shapes_out, const Sizes *sizes, const double *cost);

#endif
