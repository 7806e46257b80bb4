#include "cells/local_moves.h"

#include "cells/cell_groups.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static bool allowed(const SearchState *state, const long *quota, int colour, int cells)
{
    return !state->barred[colour] && (!quota || quota[colour] >= cells);
}

static void count_change(TileWork *tile, long *quota, int was, int now, int cells, double gain)
{
    tile->changes += cells;
    tile->gain += gain;
    if (!quota) return;
    quota[was] += cells;
    quota[now] -= cells;
}

/* The best colour for the cell alone. */
static void move_cell(SearchState *state, const Cell *c, TileWork *tile, long *quota)
{
    uint8_t *colour = state->grid->colour;
    const int was = colour[c->at];
    double now[3], cost[NONE + 1];
    if (was == NONE)
        retina_target(state->retina, c->at, now);
    else
        memcpy(now, state->value[was], sizeof now);
    search_state_costs(state, c, now, cost);
    const Near near = search_state_near(state, c->column, c->row);
    for (int i = 0; i < near.count; i++)
        if (colour[near.at[i]] != NONE) cost[colour[near.at[i]]] -= near.price[i];
    int best = was;
    double least = was == NONE ? INFINITY : cost[was] - LEAST_GAIN;
    for (int i = 0; i < state->colours; i++)
        if (cost[i] < least && i != was && allowed(state, quota, i, 1)) least = cost[i], best = i;
    if (best == was) return;
    double d[3];
    for (int p = 0; p < 3; p++) d[p] = state->value[best][p] - now[p];
    const double seen = retina_shift(state->retina, &c->spot, d);
    colour[c->at] = (uint8_t)best;
    search_state_touch(state, c->column, c->row);
    count_change(tile, quota, was, best, 1, was == NONE ? seen : least - cost[was]);
}

/* --- several cells at once -------------------------------------------------------- */

/* What the joints around the group cost less for each colour, as a gain by colour; those
 * colours, each once, are the candidates. */
static int group_candidates(const SearchState *state, const CellGroup *g, int *candidate,
                            double *gain)
{
    int count = 0;
    for (int row = g->row; row < g->row + g->rows; row++)
        for (int column = g->column; column < g->column + g->columns; column++) {
            const Near near = search_state_near(state, column, row);
            for (int i = 0; i < near.count; i++) {
                if (cell_group_holds(g, near.at[i], state->columns)) continue;
                const int colour = state->grid->colour[near.at[i]];
                int k = 0;
                while (k < count && candidate[k] != colour) k++;
                if (k == count) candidate[count] = colour, gain[count++] = 0.0;
                gain[k] += near.price[i];
            }
        }
    return count;
}

/* What a group is offered. */
typedef struct Offer {
    int count, candidate[4 * RUN_MOST];
    double rest[4 * RUN_MOST]; /* change of all but what reaches the eye */
} Offer;

static void offer_make(const SearchState *state, const CellGroup *g, const long *quota,
                       Offer *offer)
{
    double gain[4 * RUN_MOST], stay = 0.0;
    int candidate[4 * RUN_MOST];
    const int cells = g->columns * g->rows, count = group_candidates(state, g, candidate, gain);
    for (int i = 0; i < count; i++)
        if (candidate[i] == g->was) stay = gain[i];
    offer->count = 0;
    for (int i = 0; i < count; i++) {
        const int to = candidate[i];
        if (to == g->was || !allowed(state, quota, to, cells)) continue;
        const double rest = stay - gain[i] + cell_group_rest(state, g, to);
        offer->candidate[offer->count] = to;
        offer->rest[offer->count++] = rest;
    }
}

/* The best of the offer by an estimate; -1: none. */
static int offer_best(const SearchState *state, const CellGroup *g, const Offer *offer)
{
    int best = -1;
    double least = -LEAST_GAIN;
    for (int i = 0; i < offer->count; i++) {
        const double change = cell_group_estimate(state, g, offer->candidate[i]) + offer->rest[i];
        if (change < least) least = change, best = i;
    }
    return best;
}

/* Proposes by the estimate, twice where need be; decides by the exact change. */
static void move_group(SearchState *state, const CellGroup *g, TileWork *tile, long *quota,
                       float *scratch)
{
    Offer offer;
    offer_make(state, g, quota, &offer);
    if (offer.count == 0 || offer_best(state, g, &offer) < 0) return;
    cell_group_learn(state, g, scratch);
    const int best = offer_best(state, g, &offer);
    if (best < 0) return;
    const int to = offer.candidate[best];
    const double change = cell_group_take(state, g, to, offer.rest[best], scratch);
    if (change < 0.0) count_change(tile, quota, g->was, to, g->columns * g->rows, change);
}

/* Whether the cell may be of a group of this colour. */
static bool same(const SearchState *state, int column, int row, int colour)
{
    return column >= 0 && row >= 0 && column < state->columns && row < state->rows &&
           grid_colour(state->grid, column, row) == colour &&
           !search_state_keeps(state, (size_t)row * (size_t)state->columns + (size_t)column);
}

/* The groups that start at a cell: a whole short run along the row, one up the column,
 * and two by two. */
static void move_groups(SearchState *state, int column, int row, TileWork *tile, long *quota,
                        float *scratch)
{
    int was = grid_colour(state->grid, column, row), run = 1;
    if (state->price_x > 0.0 && !same(state, column - 1, row, was)) {
        while (run <= RUN_MOST && same(state, column + run, row, was)) run++;
        if (run > 1 && run <= RUN_MOST)
            move_group(state, &(CellGroup){column, row, run, 1, was}, tile, quota, scratch);
    }
    if (state->price_y <= 0.0) return;
    was = grid_colour(state->grid, column, row);
    run = 1;
    if (!same(state, column, row - 1, was)) {
        while (run <= RUN_MOST && same(state, column, row + run, was)) run++;
        if (run > 1 && run <= RUN_MOST)
            move_group(state, &(CellGroup){column, row, 1, run, was}, tile, quota, scratch);
    }
    was = grid_colour(state->grid, column, row);
    if (same(state, column + 1, row, was) && same(state, column, row + 1, was) &&
        same(state, column + 1, row + 1, was))
        move_group(state, &(CellGroup){column, row, 2, 2, was}, tile, quota, scratch);
}

/* --- swaps, which keep the count of every colour ----------------------------------- */

/* Two cells near each other, and their colours. */
typedef struct Swap {
    int column[2], row[2];
    size_t at[2];
    int colour[2];
    double change[3]; /* from the first's colour to the second's, in opponent values */
} Swap;

static Swap swap_of(const SearchState *state, int column, int row, int dx, int dy)
{
    Swap s = {.column = {column, column + dx}, .row = {row, row + dy}};
    for (int i = 0; i < 2; i++) {
        s.at[i] = (size_t)s.row[i] * (size_t)state->columns + (size_t)s.column[i];
        s.colour[i] = state->grid->colour[s.at[i]];
    }
    for (int p = 0; p < 3; p++)
        s.change[p] = state->value[s.colour[1]][p] - state->value[s.colour[0]][p];
    return s;
}

/* Joints that cell i has with all others, were it of `colour` and its partner of `other`. */
static double joints_of(const SearchState *state, const Swap *s, int i, int colour, int other)
{
    const Near near = search_state_near(state, s->column[i], s->row[i]);
    double sum = 0.0;
    for (int k = 0; k < near.count; k++) {
        const int beside = near.at[k] == s->at[1 - i] ? other : state->grid->colour[near.at[k]];
        if (beside != colour) sum += near.price[k];
    }
    return sum;
}

/* Change of all but what reaches the eye. */
static double swap_rest(const SearchState *state, const Swap *s)
{
    double rest = 0.0;
    for (int i = 0; i < 2; i++) {
        const int was = s->colour[i], now = s->colour[1 - i];
        rest += joints_of(state, s, i, now, was) - joints_of(state, s, i, was, now) +
                search_state_close(state, s->at[i], now) - search_state_close(state, s->at[i], was);
    }
    return rest;
}

/* What reaches the eye more, as estimated from the slopes learnt last. */
static double swap_estimate(const SearchState *state, const Swap *s)
{
    const double *overlap = state->overlap[abs(s->column[1] - s->column[0])][s->row[1] - s->row[0]];
    const float *one = state->slope + 3 * s->at[0], *two = state->slope + 3 * s->at[1];
    double apart[3], pulled[3], self[6];
    for (int p = 0; p < 3; p++) apart[p] = (double)one[p] - (double)two[p];
    for (int k = 0; k < 6; k++) {
        const double both =
            state->self[6 * s->at[0] + (size_t)k] + state->self[6 * s->at[1] + (size_t)k];
        self[k] = both - both * overlap[k];
    }
    times(self, s->change, pulled);
    return 2.0 * dot(s->change, apart) + dot(s->change, pulled);
}

/* What reaches the eye more once cell i changed by the sign times the change. */
static double swap_shift(SearchState *state, const Swap *s, int i, double sign, float *scratch)
{
    double d[3];
    const Spot spot = retina_spot(state->retina, s->column[i], s->row[i], scratch);
    for (int p = 0; p < 3; p++) d[p] = sign * s->change[p];
    return retina_shift(state->retina, &spot, d);
}

/* Proposes by the estimate, twice where need be; decides by the exact change. */
static void swap_cells(SearchState *state, const Swap *s, TileWork *tile, float *scratch)
{
    const double rest = swap_rest(state, s);
    if (swap_estimate(state, s) + rest > -LEAST_GAIN) return;
    for (int i = 0; i < 2; i++) search_state_cell(state, s->column[i], s->row[i], scratch);
    if (swap_estimate(state, s) + rest > -LEAST_GAIN) return;
    double change = rest;
    for (int i = 0; i < 2; i++) change += swap_shift(state, s, i, i ? -1.0 : 1.0, scratch);
    if (change < -LEAST_GAIN) {
        for (int i = 0; i < 2; i++) {
            state->grid->colour[s->at[i]] = (uint8_t)s->colour[1 - i];
            search_state_touch(state, s->column[i], s->row[i]);
        }
        count_change(tile, NULL, s->colour[0], s->colour[1], 2, change);
        return;
    }
    for (int i = 0; i < 2; i++) swap_shift(state, s, i, i ? 1.0 : -1.0, scratch);
}

/* Swaps with cells whose colour, or the cell's own, is used up: others can change alone. The
 * joint between two neighbours counts on both sides in joints_of, before and after alike, so it
 * drops out. */
static void move_swaps(SearchState *state, int column, int row, TileWork *tile, const long *quota,
                       float *scratch)
{
    static const int offset[][2] = {{1, 0}, {0, 1}, {1, 1}, {-1, 1}, {2, 0}, {0, 2}};
    for (size_t i = 0; i < sizeof offset / sizeof *offset; i++) {
        const int x = column + offset[i][0], y = row + offset[i][1];
        if (x < 0 || x >= state->columns || y >= state->rows) continue;
        const Swap s = swap_of(state, column, row, offset[i][0], offset[i][1]);
        if (s.colour[0] == s.colour[1] || search_state_keeps(state, s.at[1])) continue;
        if (quota[s.colour[0]] > 0 && quota[s.colour[1]] > 0) continue;
        swap_cells(state, &s, tile, scratch);
    }
}

void local_move_at(SearchState *state, int column, int row, TileWork *tile, long *quota,
                   float *scratch)
{
    if (search_state_keeps(state, (size_t)row * (size_t)state->columns + (size_t)column)) return;
    const Cell cell = search_state_cell(state, column, row, scratch);
    move_cell(state, &cell, tile, quota);
    if (state->price_x > 0.0) move_groups(state, column, row, tile, quota, scratch);
    if (quota) move_swaps(state, column, row, tile, quota, scratch);
}
