/* The moves of direct binary search (Analoui and Allebach 1992): toggle one cell, or swap two;
 * and, since it takes several cells to save a brick, runs and squares of them at once.
 *
 * Invariant: after each move the perceived error shows the grid, and the objective has not
 * grown. A move that comes to less than LEAST_GAIN is not made, so a search ends. */
#include "cells/local_moves.h"

#include "cells/cell_groups.h"

#include <math.h>
#include <stdlib.h>

static bool allowed(const SearchState *state, const Tile *tile, int colour, int cells)
{
    return !state->barred[colour] && (!tile->quota || tile->quota[colour] >= cells);
}

static void count_change(Tile *tile, int was, int now, int cells, double gain)
{
    tile->changes += cells;
    tile->gain += gain;
    if (!tile->quota) return;
    tile->quota[was] += cells;
    tile->quota[now] -= cells;
}

/* The best colour for the cell alone. */
static void recolour_cell(SearchState *state, const Cell *c, Tile *tile)
{
    const int was = c->colour;
    double cost[COLOUR_SLOTS];
    search_state_costs(state, c, cost);
    int best = was;
    double least = was == NO_COLOUR ? INFINITY : cost[was] - LEAST_GAIN;
    for (int i = 0; i < state->colours; i++)
        if (cost[i] < least && i != was && allowed(state, tile, i, 1)) least = cost[i], best = i;
    if (best == was) return;
    double d[3];
    for (int p = 0; p < 3; p++) d[p] = state->value[best][p] - c->shown[p];
    const double seen = perceived_error_shift(state->perceived, &c->footprint, d);
    state->grid->colour[c->at] = (uint8_t)best;
    search_state_touch(state, c->column, c->row);
    count_change(tile, was, best, 1, was == NO_COLOUR ? seen : least - cost[was]);
}

/* --- several cells at once -------------------------------------------------------- */

/* The colours beside a group, each once, are the candidates. */
typedef struct Candidates {
    int count, colour[4 * GROUP_MOST];
} Candidates;

static void add_candidate(const SearchState *state, int column, int row, Candidates *c)
{
    if (column < 0 || row < 0 || column >= state->columns || row >= state->rows) return;
    const int colour = grid_colour(state->grid, column, row);
    if (colour == NO_COLOUR) return;
    int k = 0;
    while (k < c->count && c->colour[k] != colour) k++;
    if (k == c->count) c->colour[c->count++] = colour;
}

static void group_candidates(const SearchState *state, const CellGroup *g, Candidates *c)
{
    const int right = g->column + g->columns, top = g->row + g->rows;
    c->count = 0;
    for (int row = g->row; row < top; row++) {
        add_candidate(state, g->column - 1, row, c);
        add_candidate(state, right, row, c);
    }
    for (int column = g->column; column < right; column++) {
        add_candidate(state, column, g->row - 1, c);
        add_candidate(state, column, top, c);
    }
}

/* Colours that a group may take. */
typedef struct Proposals {
    int count, colour[4 * GROUP_MOST];
    double local[4 * GROUP_MOST]; /* change of the local terms */
} Proposals;

static void propose_colours(const SearchState *state, const CellGroup *g, const Tile *tile,
                            Proposals *proposals)
{
    Candidates c;
    GroupSurround surround;
    BrickRing ring;
    group_candidates(state, g, &c);
    proposals->count = 0;
    if (c.count == 0 || (c.count == 1 && c.colour[0] == g->was)) return;
    cell_group_surround(state, g, &surround);
    brick_ring_init(&ring, &state->bricks, &(CellBox){g->column, g->row, g->columns, g->rows});
    const double stay = brick_ring_cost(&ring, g->was);
    for (int i = 0; i < c.count; i++) {
        const int to = c.colour[i];
        if (to == g->was || !allowed(state, tile, to, g->columns * g->rows)) continue;
        const double bricks = brick_ring_cost(&ring, to) - stay;
        if (bricks > 0.0) continue; /* weighed, too, they took 3 % more time for no better faces */
        const double local = bricks + cell_group_local_change(state, g, &surround, to);
        proposals->colour[proposals->count] = to;
        proposals->local[proposals->count++] = local;
    }
}

/* The best proposal by an estimate; -1: none. */
static int best_proposal(const SearchState *state, const CellGroup *g, const Proposals *proposals)
{
    int best = -1;
    double least = -LEAST_GAIN;
    for (int i = 0; i < proposals->count; i++) {
        const double change =
            cell_group_estimate(state, g, proposals->colour[i]) + proposals->local[i];
        if (change < least) least = change, best = i;
    }
    return best;
}

/* Proposes by the estimate, twice where need be; decides by the exact change. */
static void recolour_group(SearchState *state, const CellGroup *g, Tile *tile)
{
    Proposals proposals;
    propose_colours(state, g, tile, &proposals);
    if (proposals.count == 0 || best_proposal(state, g, &proposals) < 0) return;
    cell_group_learn(state, g, tile->scratch);
    const int best = best_proposal(state, g, &proposals);
    if (best < 0) return;
    const int to = proposals.colour[best];
    const double change = cell_group_take(state, g, to, proposals.local[best], tile->scratch);
    if (change < 0.0) count_change(tile, g->was, to, g->columns * g->rows, change);
}

/* Whether the cell may be of a group of this colour. */
static bool may_join(const SearchState *state, int column, int row, int colour)
{
    return column >= 0 && row >= 0 && column < state->columns && row < state->rows &&
           grid_colour(state->grid, column, row) == colour &&
           !search_state_keeps(state, search_state_at(state, column, row));
}

/* A whole short run from its first cell, along the row or up the column. */
static void recolour_run(SearchState *state, int column, int row, int across, Tile *tile)
{
    const int up = !across, was = grid_colour(state->grid, column, row);
    int run = 1;
    if (may_join(state, column - across, row - up, was)) return;
    while (run <= GROUP_MOST && may_join(state, column + run * across, row + run * up, was)) run++;
    if (run == 1 || run > GROUP_MOST) return;
    const CellGroup g = {column, row, across ? run : 1, across ? 1 : run, was};
    recolour_group(state, &g, tile);
}

/* The cell beside this one on the other side of an edge: below or above, where the edge lies along
 * the row, left or right, where it goes up the column; -1: none. */
static int across_edge(const SearchState *state, int column, int row, int along_row, int side)
{
    const int x = along_row ? column : column + side, y = along_row ? row + side : row;
    if (x < 0 || y < 0 || x >= state->columns || y >= state->rows) return -1;
    return grid_colour(state->grid, x, y);
}

/* The stretch of an edge between two colours that begins at a cell, up to where either colour
 * ends: the edge is moved by a cell, where its corners cost more than they are worth. */
static void recolour_stretch(SearchState *state, int column, int row, int along_row, int side,
                             Tile *tile)
{
    const int up = !along_row, was = grid_colour(state->grid, column, row);
    const int other = across_edge(state, column, row, along_row, side);
    if (other < 0 || other == was || other == NO_COLOUR) return;
    if (may_join(state, column - along_row, row - up, was) &&
        across_edge(state, column - along_row, row - up, along_row, side) == other)
        return;
    int n = 1;
    for (; n <= GROUP_MOST; n++) {
        const int x = column + n * along_row, y = row + n * up;
        if (!may_join(state, x, y, was) || across_edge(state, x, y, along_row, side) != other)
            break;
    }
    if (n == 1 || n > GROUP_MOST) return;
    recolour_group(state, &(CellGroup){column, row, along_row ? n : 1, along_row ? 1 : n, was},
                   tile);
}

/* The groups that start at a cell. In a wall only what lies along the course counts. */
static void recolour_groups(SearchState *state, int column, int row, Tile *tile)
{
    recolour_run(state, column, row, 1, tile);
    if (state->bricks.wall) return;
    recolour_run(state, column, row, 0, tile);
    const int was = grid_colour(state->grid, column, row);
    if (may_join(state, column + 1, row, was) && may_join(state, column, row + 1, was) &&
        may_join(state, column + 1, row + 1, was))
        recolour_group(state, &(CellGroup){column, row, 2, 2, was}, tile);
    for (int k = 0; k < 4; k++)
        recolour_stretch(state, column, row, !(k & 1), k & 2 ? 1 : -1, tile);
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
        s.at[i] = search_state_at(state, s.column[i], s.row[i]);
        s.colour[i] = state->grid->colour[s.at[i]];
    }
    for (int p = 0; p < 3; p++)
        s.change[p] = state->value[s.colour[1]][p] - state->value[s.colour[0]][p];
    return s;
}

/* The price of bricks round both. */
static double bricks_of(const SearchState *state, const Swap *s)
{
    const int left = s->column[0] < s->column[1] ? 0 : 1;
    return brick_guess_around(&state->bricks, &(CellBox){s->column[left], s->row[0],
                                                         s->column[1 - left] - s->column[left] + 1,
                                                         s->row[1] - s->row[0] + 1});
}

static void put_colours(SearchState *state, const Swap *s, bool swapped)
{
    for (int i = 0; i < 2; i++)
        state->grid->colour[s->at[i]] = (uint8_t)s->colour[swapped ? 1 - i : i];
}

/* What bricks come to more. */
static double swap_bricks(SearchState *state, const Swap *s)
{
    if (!(state->bricks.price > 0.0)) return 0.0;
    const double was = bricks_of(state, s);
    put_colours(state, s, true);
    const double now = bricks_of(state, s);
    put_colours(state, s, false);
    return now - was;
}

/* Prices of calm that cell i has with all others, were it of `colour` and its partner of `other`.
 * The pair of the two themselves costs the same either way. */
static double pairs_of(const SearchState *state, const Swap *s, int i, int colour, int other)
{
    CalmPartner partner[CALM_PARTNERS];
    const int count = calm_partners(&state->calm, s->column[i], s->row[i], partner);
    double sum = 0.0;
    for (int k = 0; k < count; k++) {
        const size_t at = partner[k].at;
        const int next = at == s->at[1 - i] ? other : state->grid->colour[at];
        sum += calm_pair(&state->calm, &partner[k], colour, next);
    }
    return sum;
}

/* Change of the local terms; colour prices cancel. */
static double swap_local_change(SearchState *state, const Swap *s)
{
    double local = swap_bricks(state, s);
    for (int i = 0; i < 2; i++) {
        const int was = s->colour[i], now = s->colour[1 - i];
        local += pairs_of(state, s, i, now, was) - pairs_of(state, s, i, was, now) +
                 search_state_detail(state, s->at[i], now) -
                 search_state_detail(state, s->at[i], was);
    }
    return local;
}

/* What reaches the eye more, as estimated from the gradients learnt last. */
static double swap_estimate(const SearchState *state, const Swap *s)
{
    const double *overlap = state->overlap[abs(s->column[1] - s->column[0])][s->row[1] - s->row[0]];
    const float *one = state->gradient + 3 * s->at[0], *two = state->gradient + 3 * s->at[1];
    double apart[3], bent[3], curvature[OPPONENT_FORM];
    for (int p = 0; p < 3; p++) apart[p] = (double)one[p] - (double)two[p];
    for (int k = 0; k < OPPONENT_FORM; k++) {
        const double both = state->curvature[OPPONENT_FORM * s->at[0] + (size_t)k] +
                            state->curvature[OPPONENT_FORM * s->at[1] + (size_t)k];
        curvature[k] = both - both * overlap[k];
    }
    opponent_form_times(curvature, s->change, bent);
    return 2.0 * opponent_dot(s->change, apart) + opponent_dot(s->change, bent);
}

/* What reaches the eye more once cell i changed by the sign times the change. */
static double swap_shift(SearchState *state, const Swap *s, int i, double sign, float *scratch)
{
    double d[3];
    const Footprint footprint =
        perceived_error_footprint(state->perceived, s->column[i], s->row[i], scratch);
    for (int p = 0; p < 3; p++) d[p] = sign * s->change[p];
    return perceived_error_shift(state->perceived, &footprint, d);
}

/* Proposes by the estimate, twice where need be; decides by the exact change. */
static void swap_cells(SearchState *state, const Swap *s, Tile *tile)
{
    float *scratch = tile->scratch;
    const double local = swap_local_change(state, s);
    if (swap_estimate(state, s) + local > -LEAST_GAIN) return;
    for (int i = 0; i < 2; i++) search_state_cell(state, s->column[i], s->row[i], scratch);
    if (swap_estimate(state, s) + local > -LEAST_GAIN) return;
    double change = local;
    for (int i = 0; i < 2; i++) change += swap_shift(state, s, i, i ? -1.0 : 1.0, scratch);
    if (change < -LEAST_GAIN) {
        put_colours(state, s, true);
        for (int i = 0; i < 2; i++) search_state_touch(state, s->column[i], s->row[i]);
        tile->changes += 2;
        tile->gain += change;
        return;
    }
    for (int i = 0; i < 2; i++) swap_shift(state, s, i, i ? 1.0 : -1.0, scratch);
}

/* Swaps with cells whose colour, or the cell's own, is used up: others can change alone. */
static void swap_with_others(SearchState *state, int column, int row, Tile *tile)
{
    static const int offset[][2] = {{1, 0}, {0, 1}, {1, 1}, {-1, 1}, {2, 0}, {0, 2}};
    for (size_t i = 0; i < sizeof offset / sizeof *offset; i++) {
        const int x = column + offset[i][0], y = row + offset[i][1];
        if (x < 0 || x >= state->columns || y >= state->rows) continue;
        const Swap s = swap_of(state, column, row, offset[i][0], offset[i][1]);
        if (s.colour[0] == s.colour[1] || search_state_keeps(state, s.at[1])) continue;
        if (tile->quota[s.colour[0]] > 0 && tile->quota[s.colour[1]] > 0) continue;
        swap_cells(state, &s, tile);
    }
}

void local_move_at(SearchState *state, int column, int row, Tile *tile)
{
    if (search_state_keeps(state, search_state_at(state, column, row))) return;
    const Cell cell = search_state_cell(state, column, row, tile->scratch);
    recolour_cell(state, &cell, tile);
    if (state->bricks.price > 0.0) recolour_groups(state, column, row, tile);
    if (tile->quota) swap_with_others(state, column, row, tile);
}
