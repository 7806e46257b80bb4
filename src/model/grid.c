/* What can be seen of a cell follows from its top and those of its four neighbours: all tiers from
 * the lowest of these tops up, and always the outermost. Outside the mural the top is 0, so that
 * its edges are seen whole. */
#include "model/grid.h"

#include "base/memory.h"
#include "model/image.h"

#include <assert.h>

Status grid_init(Grid *grid, int columns, int rows, bool relief, Fault *fault)
{
    assert(columns > 0 && columns <= GRID_MOST && rows > 0 && rows <= GRID_MOST);
    const size_t cells = (size_t)columns * (size_t)rows;
    *grid = (Grid){.columns = columns, .rows = rows, .colour = memory_create(cells, 1)};
    if (grid->colour && relief) grid->steps = memory_create(cells, 1);
    if (grid->colour && (grid->steps || !relief)) return STATUS_OK;
    grid_clear(grid);
    return memory_fault(fault, cells, 1);
}

void grid_clear(Grid *grid)
{
    memory_free(grid->colour);
    memory_free(grid->steps);
    *grid = (Grid){0};
}

int solid_first_shown(const Solid *s, int column, int row)
{
    int first = solid_top(s, column, row) - 1;
    for (int side = 0; side < 4; side++) {
        const int beside =
            solid_top(s, column + (side == 0) - (side == 1), row + (side == 2) - (side == 3));
        if (beside < first) first = beside;
    }
    return first;
}

bool solid_shown(const Solid *s, int column, int row, int tier)
{
    return tier >= 0 && tier < solid_top(s, column, row) &&
           tier >= solid_first_shown(s, column, row);
}

int solid_depth(const Solid *s)
{
    int most = 0;
    if (s->grid->steps)
        for (size_t i = 0, cells = (size_t)s->grid->columns * (size_t)s->grid->rows; i < cells; i++)
            if (s->grid->steps[i] > most) most = s->grid->steps[i];
    return s->base + most;
}
