/* The moves of direct binary search (Analoui and Allebach 1992): toggle one cell, or swap two;
 * and, since a joint costs a brick, runs and squares of cells at once.
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

/* What the joints around a group cost less for each colour, as a gain by colour; those colours,
 * each once, are the candidates. */
typedef struct Candidates {
    int count, colour[4 * GROUP_MOST];
    double gain[4 * GROUP_MOST];
} Candidates;

/* The joint between a cell of the group and the one `across` and `up` from it. */
static void add_candidate(const SearchState *state, int column, int row, int across, int up,
                          Candidates *c)
{
    const int x = column + across, y = row + up;
    if (x < 0 || y < 0 || x >= state->columns || y >= state->rows) return;
    const size_t at = search_state_at(state, x, y);
    const int colour = state->grid->colour[at];
    if (colour == NO_COLOUR) return;
    int k = 0;
    while (k < c->count && c->colour[k] != colour) k++;
    if (k == c->count) c->colour[k] = colour, c->gain[c->count++] = 0.0;
    c->gain[k] +=
        (across ? state->joint_price_x : state->joint_price_y) *
        cell_weight_between(state->problem.weights.thrift, search_state_at(state, column, row), at);
}

static void group_candidates(const SearchState *state, const CellGroup *g, Candidates *c)
{
    const int right = g->column + g->columns - 1, top = g->row + g->rows - 1;
    c->count = 0;
    for (int row = g->row; row <= top; row++) {
        add_candidate(state, g->column, row, -1, 0, c);
        add_candidate(state, right, row, 1, 0, c);
    }
    for (int column = g->column; column <= right; column++) {
        add_candidate(state, column, g->row, 0, -1, c);
        add_candidate(state, column, top, 0, 1, c);
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
    double stay = 0.0;
    group_candidates(state, g, &c);
    for (int i = 0; i < c.count; i++)
        if (c.colour[i] == g->was) stay = c.gain[i];
    proposals->count = 0;
    if (c.count == 0 || (c.count == 1 && c.colour[0] == g->was)) return;
    cell_group_surround(state, g, &surround);
    for (int i = 0; i < c.count; i++) {
        const int to = c.colour[i];
        if (to == g->was || !allowed(state, tile, to, g->columns * g->rows)) continue;
        const double local = stay - c.gain[i] + cell_group_local_change(state, g, &surround, to);
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

/* The groups that start at a cell: a whole short run along the row, one up the column,
 * and two by two. */
static void recolour_groups(SearchState *state, int column, int row, Tile *tile)
{
    int was = grid_colour(state->grid, column, row), run = 1;
    if (state->joint_price_x > 0.0 && !may_join(state, column - 1, row, was)) {
        while (run <= GROUP_MOST && may_join(state, column + run, row, was)) run++;
        if (run > 1 && run <= GROUP_MOST)
            recolour_group(state, &(CellGroup){column, row, run, 1, was}, tile);
    }
    if (state->joint_price_y <= 0.0) return;
    was = grid_colour(state->grid, column, row);
    run = 1;
    if (!may_join(state, column, row - 1, was)) {
        while (run <= GROUP_MOST && may_join(state, column, row + run, was)) run++;
        if (run > 1 && run <= GROUP_MOST)
            recolour_group(state, &(CellGroup){column, row, 1, run, was}, tile);
    }
    was = grid_colour(state->grid, column, row);
    if (may_join(state, column + 1, row, was) && may_join(state, column, row + 1, was) &&
        may_join(state, column + 1, row + 1, was))
        recolour_group(state, &(CellGroup){column, row, 2, 2, was}, tile);
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

/* Joints that cell i has with all others, were it of `colour` and its partner of `other`. */
static double joints_of(const SearchState *state, const Swap *s, int i, int colour, int other)
{
    const Neighbours beside = search_state_neighbours(state, s->column[i], s->row[i]);
    double sum = 0.0;
    for (int k = 0; k < beside.count; k++) {
        const int next = beside.at[k] == s->at[1 - i] ? other : state->grid->colour[beside.at[k]];
        if (next != colour) sum += beside.price[k];
    }
    return sum;
}

/* The same for the prices of calm. The pair of the two themselves costs the same either way. */
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
static double swap_local_change(const SearchState *state, const Swap *s)
{
    double local = 0.0;
    for (int i = 0; i < 2; i++) {
        const int was = s->colour[i], now = s->colour[1 - i];
        local += joints_of(state, s, i, now, was) - joints_of(state, s, i, was, now) +
                 pairs_of(state, s, i, now, was) - pairs_of(state, s, i, was, now) +
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
        for (int i = 0; i < 2; i++) {
            state->grid->colour[s->at[i]] = (uint8_t)s->colour[1 - i];
            search_state_touch(state, s->column[i], s->row[i]);
        }
        tile->changes += 2;
        tile->gain += change;
        return;
    }
    for (int i = 0; i < 2; i++) swap_shift(state, s, i, i ? 1.0 : -1.0, scratch);
}

/* Swaps with cells whose colour, or the cell's own, is used up: others can change alone. The
 * joint between two neighbours counts on both sides in joints_of, before and after alike, so it
 * drops out. */
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
    if (state->joint_price_x > 0.0) recolour_groups(state, column, row, tile);
    if (tile->quota) swap_with_others(state, column, row, tile);
}
