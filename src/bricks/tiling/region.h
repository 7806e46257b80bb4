/* Region: cells of one layer that can be tiled without regard to any others, and every
 * place in it where a shape fits.
 *
 * A region has a frame of its own, which may be turned: its cells are numbered by row, then
 * column, of that frame. Cells side by side in a row have consecutive numbers; `above` leads from
 * row to row. */
#ifndef ROWLOCK_BRICKS_TILING_REGION_H
#define ROWLOCK_BRICKS_TILING_REGION_H

#include "base/status.h"
#include "bricks/tiling/field.h"
#include "bricks/tiling/shape.h"

#include <stdbool.h>
#include <stdint.h>

typedef struct Region {
    const Shapes *shapes;
    int32_t cells;
    int32_t columns, rows; /* of the frame, columns <= rows */
    bool turned;
    int32_t *cell;          /* index in the layer of each cell of the region */
    int32_t *column, *row;  /* in the frame */
    int32_t *above, *below; /* the cells above and below, or -1 */
    /* Places: those with their first cell (lowest row, then column) in cell i are
     * first[i] to first[i + 1] - 1; place p has the sides of shape[p]. */
    int32_t *first;
    uint8_t *shape;
    int32_t *cost; /* of a place, in units of SHAPE_ONE; NULL: its shape's */
    int32_t *line; /* by row of the frame: what it costs if no place crosses its lower edge; NULL:
                      nothing. It is of a frame that is turned */
    int32_t step;  /* every cost is a multiple of it */
    uint8_t wide[SHAPES_MOST], high[SHAPES_MOST]; /* sides of the shapes in the frame */
} Region;

/* cell: indices into the field, ascending, joined over their sides. Cells of two colours are never
 * in one place; TILE_FREE goes with any. */
Status region_init(Region *region_out, const TileField *field, const int32_t *cell, int32_t cells,
                   const Shapes *shapes, Fault *fault);
void region_clear(Region *region);

/* Puts cells, of a region or a field, in ascending order. */
void cells_sort(int32_t *cell, int32_t cells);

static inline int64_t region_places(const Region *r) { return r->first[r->cells]; }

static inline int32_t region_cost(const Region *r, int32_t place)
{
    return r->cost ? r->cost[place] : r->shapes->shape[r->shape[place]].cost;
}

/* Sums of a number by cell from the first on, cells + 1 of them, for region_sum. */
void region_sums(const Region *region, const int32_t *number, int64_t *sums_out);

/* The sum over the cells of a place. */
static inline int64_t region_sum(const Region *r, const int64_t *sums, int32_t cell, int shape)
{
    int64_t sum = 0;
    for (int k = 0; k < r->high[shape]; k++, cell = r->above[cell])
        sum += sums[cell + r->wide[shape]] - sums[cell];
    return sum;
}

#endif
