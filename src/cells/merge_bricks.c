#include "cells/merge_bricks.h"

#include "cells/cell_groups.h"
#include "cells/parallel_sweep.h"

#include <math.h>

enum {
    CELLS = 8,   /* of a brick that changes colour, at most: more are seen */
    LONGEST = 16 /* side of what it becomes, so that tiles swept at once do not meet in it */
};

static Facet *piece_at(const FaceBricks *p, int32_t column, int32_t row)
{
    return &p->piece[p->at[(size_t)row * (size_t)p->columns + (size_t)column]];
}

static int colour_of(const SearchState *state, const Facet *piece)
{
    return grid_colour(state->grid, piece->column, piece->row);
}

static bool is_kept(const SearchState *state, const Facet *piece)
{
    for (int32_t y = piece->row; y < piece->row + piece->rows; y++)
        for (int32_t x = piece->column; x < piece->column + piece->columns; x++)
            if (search_state_keeps(state, (size_t)y * (size_t)state->columns + (size_t)x))
                return true;
    return false;
}

/* What the two are together; false if their sides do not match. */
static bool join(const Facet *a, const Facet *b, bool wall, Facet *out)
{
    const bool across =
        a->row == b->row && a->rows == b->rows &&
        (a->column + a->columns == b->column || b->column + b->columns == a->column);
    const bool up = !wall && a->column == b->column && a->columns == b->columns &&
                    (a->row + a->rows == b->row || b->row + b->rows == a->row);
    if ((!across && !up) || a->panel != b->panel || (wall && a->deep != b->deep)) return false;
    const int columns = across ? a->columns + b->columns : a->columns;
    const int rows = across ? a->rows : a->rows + b->rows;
    if (columns > LONGEST || rows > LONGEST) return false;
    *out = (Facet){.column = a->column < b->column ? a->column : b->column,
                   .row = a->row < b->row ? a->row : b->row,
                   .panel = a->panel,
                   .columns = (uint8_t)columns,
                   .rows = (uint8_t)rows,
                   .deep = wall ? a->deep : (uint8_t)rows};
    return true;
}

/* Bricks that the two save as one, at their costs; -INFINITY where there is no such brick. */
static double saving(const BrickMerging *f, const Facet *a, const Facet *b, const Facet *both)
{
    const int to = sizes_find(f->sizes, both->columns, both->deep);
    if (to < 0) return -INFINITY;
    if (!f->cost) return 1.0;
    const int one = sizes_find(f->sizes, a->columns, a->deep);
    const int other = sizes_find(f->sizes, b->columns, b->deep);
    return f->cost[one] + f->cost[other] - f->cost[to];
}

static void become(FaceBricks *p, Facet *gone, Facet *stays, const Facet *both)
{
    const int32_t n = (int32_t)(stays - p->piece);
    *stays = *both;
    gone->columns = 0;
    for (int32_t y = both->row; y < both->row + both->rows; y++)
        for (int32_t x = both->column; x < both->column + both->columns; x++)
            p->at[(size_t)y * (size_t)p->columns + (size_t)x] = n;
}

/* The neighbour, of the four at the corners, whose colour serves best; NULL: none. */
static Facet *best_neighbour(const BrickMerging *f, SearchState *state, const CellGroup *g,
                             const Facet *piece, float *scratch, double *rest_out, Facet *both_out)
{
    const int32_t beside[4][2] = {{g->column - 1, g->row},
                                  {g->column + g->columns, g->row},
                                  {g->column, g->row - 1},
                                  {g->column, g->row + g->rows}};
    Facet *best = NULL;
    double least = -LEAST_GAIN;
    bool learnt = false;
    for (int i = 0; i < 4; i++) {
        const int32_t x = beside[i][0], y = beside[i][1];
        Facet both;
        if (x < 0 || y < 0 || x >= state->columns || y >= state->rows) continue;
        Facet *other = piece_at(f->pieces, x, y);
        if (!join(piece, other, state->build == BUILD_WALL, &both)) continue;
        const double saved = saving(f, piece, other, &both);
        const int to = colour_of(state, other);
        if (!(saved > 0.0) || state->barred[to] || is_kept(state, other)) continue;
        double change = -f->price * saved, rest = change;
        if (to != g->was) {
            if (!learnt) cell_group_learn(state, g, scratch);
            learnt = true;
            rest += cell_group_rest(state, g, to);
            change = rest + cell_group_estimate(state, g, to);
        }
        if (change < least) least = change, best = other, *rest_out = rest, *both_out = both;
    }
    return best;
}

/* The brick whose lowest cell this is. */
static void fuse_at(void *context, SearchState *state, int column, int row, TileWork *tile,
                    long *quota, float *scratch)
{
    (void)quota;
    const BrickMerging *f = context;
    Facet *piece = piece_at(f->pieces, column, row), both;
    if (piece->column != column || piece->row != row) return;
    if (piece->columns > RUN_MOST || piece->rows > RUN_MOST) return;
    if (piece->columns * piece->rows > CELLS || is_kept(state, piece)) return;
    const CellGroup g = {column, row, piece->columns, piece->rows, colour_of(state, piece)};
    double rest;
    Facet *other = best_neighbour(f, state, &g, piece, scratch, &rest, &both);
    if (!other) return;
    const int to = colour_of(state, other);
    if (to != g.was) {
        const double change = cell_group_take(state, &g, to, rest, scratch);
        if (!(change < 0.0)) return;
        tile->changes += g.columns * g.rows;
        tile->gain += change;
    }
    become(f->pieces, piece, other, &both);
}

long merge_bricks_sweep(BrickMerging *fusing, SearchState *state)
{
    double gain = 0.0;
    state->everywhere = true;
    const long changes = parallel_sweep_with(state, fuse_at, fusing, &gain);
    state->sweep++;
    return changes;
}
