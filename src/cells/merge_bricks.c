/* Merges of neighbours, as in region merging by an energy (Mumford and Shah's functional, merged
 * as Koepfler, Lopez and Morel, SIAM J. Numerical Analysis 31(1), 1994, from memory, do): a brick's
 * price against what the eye would see of the change. It runs as a parallel sweep whose move is a
 * merge.
 *
 * Invariant: bricks tile the face, each of one colour, in one panel, of a size of the set. */
#include "cells/merge_bricks.h"

#include "cells/cell_groups.h"
#include "cells/parallel_sweep.h"

#include <math.h>

enum {
    RECOLOURED_MOST = GROUP_CELLS, /* cells of a brick that changes colour: more are seen */
    LONGEST = 16 /* side of what it becomes, so that tiles swept at once do not meet in it */
};

static FaceBrick *brick_at(const FaceBricks *p, int32_t column, int32_t row)
{
    return &p->brick[p->at[(size_t)row * (size_t)p->columns + (size_t)column]];
}

static int brick_colour(const SearchState *state, const FaceBrick *brick)
{
    return grid_colour(state->grid, brick->column, brick->row);
}

static bool is_kept(const SearchState *state, const FaceBrick *brick)
{
    for (int32_t y = brick->row; y < brick->row + brick->rows; y++)
        for (int32_t x = brick->column; x < brick->column + brick->columns; x++)
            if (search_state_keeps(state, search_state_at(state, x, y))) return true;
    return false;
}

/* What the two are together; false if their sides do not match. */
static bool merged(const FaceBrick *a, const FaceBrick *b, bool wall, FaceBrick *out)
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
    *out = (FaceBrick){.column = a->column < b->column ? a->column : b->column,
                       .row = a->row < b->row ? a->row : b->row,
                       .panel = a->panel,
                       .columns = (uint8_t)columns,
                       .rows = (uint8_t)rows,
                       .deep = wall ? a->deep : (uint8_t)rows};
    return true;
}

/* Bricks that the two save as one, at their costs; -INFINITY where there is no such brick. */
static double bricks_saved(const BrickMerging *f, const FaceBrick *a, const FaceBrick *b,
                           const FaceBrick *both)
{
    const int to = sizes_find(f->sizes, both->columns, both->deep);
    if (to < 0) return -INFINITY;
    if (!f->cost) return 1.0;
    const int one = sizes_find(f->sizes, a->columns, a->deep);
    const int other = sizes_find(f->sizes, b->columns, b->deep);
    return f->cost[one] + f->cost[other] - f->cost[to];
}

static void replace_two(FaceBricks *p, FaceBrick *gone, FaceBrick *stays, const FaceBrick *both)
{
    const int32_t n = (int32_t)(stays - p->brick);
    *stays = *both;
    gone->columns = 0;
    for (int32_t y = both->row; y < both->row + both->rows; y++)
        for (int32_t x = both->column; x < both->column + both->columns; x++)
            p->at[(size_t)y * (size_t)p->columns + (size_t)x] = n;
}

/* A merge that serves. */
typedef struct Merge {
    FaceBrick *other; /* NULL: none */
    FaceBrick both;
    int to;       /* the colour of the other */
    double local; /* change of the local terms, what bricks are worth among them */
} Merge;

/* The neighbour, of the four at the corners, whose colour serves best. */
static Merge best_merge(const BrickMerging *f, SearchState *state, const CellGroup *g,
                        const FaceBrick *brick, float *scratch)
{
    const int32_t beside[4][2] = {{g->column - 1, g->row},
                                  {g->column + g->columns, g->row},
                                  {g->column, g->row - 1},
                                  {g->column, g->row + g->rows}};
    Merge best = {0};
    GroupSurround surround;
    double least = -LEAST_GAIN;
    bool learnt = false;
    for (int i = 0; i < 4; i++) {
        const int32_t x = beside[i][0], y = beside[i][1];
        if (x < 0 || y < 0 || x >= state->columns || y >= state->rows) continue;
        Merge m = {.other = brick_at(f->bricks, x, y)};
        if (!merged(brick, m.other, state->problem.build == BUILD_WALL, &m.both)) continue;
        const double saved = bricks_saved(f, brick, m.other, &m.both);
        m.to = brick_colour(state, m.other);
        if (!(saved > 0.0) || state->barred[m.to] || is_kept(state, m.other)) continue;
        const double thrift = cell_weight_between(
            state->problem.weights.thrift, search_state_at(state, brick->column, brick->row),
            search_state_at(state, m.other->column, m.other->row));
        double change = m.local = -f->price * saved * thrift;
        if (m.to != g->was) {
            if (!learnt) {
                cell_group_learn(state, g, scratch);
                cell_group_surround(state, g, &surround);
            }
            learnt = true;
            m.local += cell_group_local_change(state, g, &surround, m.to);
            change = m.local + cell_group_estimate(state, g, m.to);
        }
        if (change < least) least = change, best = m;
    }
    return best;
}

/* The brick whose lowest cell this is. */
static void merge_at(void *context, SearchState *state, int column, int row, Tile *tile)
{
    const BrickMerging *f = context;
    FaceBrick *brick = brick_at(f->bricks, column, row);
    if (brick->column != column || brick->row != row) return;
    if (brick->columns > GROUP_MOST || brick->rows > GROUP_MOST) return;
    if (brick->columns * brick->rows > RECOLOURED_MOST || is_kept(state, brick)) return;
    const CellGroup g = {column, row, brick->columns, brick->rows, brick_colour(state, brick)};
    const Merge m = best_merge(f, state, &g, brick, tile->scratch);
    if (!m.other) return;
    if (m.to != g.was) {
        const double change = cell_group_take(state, &g, m.to, m.local, tile->scratch);
        if (!(change < 0.0)) return;
        tile->changes += g.columns * g.rows;
        tile->gain += change;
    }
    replace_two(f->bricks, brick, m.other, &m.both);
}

long merge_bricks_sweep(BrickMerging *merging, SearchState *state)
{
    state->visit_all = true;
    const long changes = parallel_sweep_with(state, merge_at, merging);
    state->sweep++;
    return changes;
}
