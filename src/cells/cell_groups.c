/* Direct binary search with moves of several cells at once, which single moves cannot make up:
 * each step of theirs would cost bricks.
 *
 * What a group would change is estimated from gradients that may be stale, and from how far the
 * kernels of its cells overlap; only where that promises a gain are gradients learnt anew, and
 * only the exact change decides. */
#include "cells/cell_groups.h"

static bool group_holds(const CellGroup *g, size_t first, size_t at, int columns)
{
    for (int row = 0; row < g->rows; row++, first += (size_t)columns)
        if (at - first < (size_t)g->columns) return true;
    return false;
}

/* The curvature of the group: the sum over all pairs of its cells, taking tensors to be alike. */
static void group_curvature(const SearchState *state, const CellGroup *g, double out[OPPONENT_FORM])
{
    const double *one =
        state->curvature + OPPONENT_FORM * search_state_at(state, g->column, g->row);
    for (int k = 0; k < OPPONENT_FORM; k++) out[k] = 0.0;
    for (int x = 0; x < g->columns; x++)
        for (int y = 0; y < g->rows; y++) {
            const double pairs = (x ? 2.0 : 1.0) * (double)(g->columns - x) * (y ? 2.0 : 1.0) *
                                 (double)(g->rows - y);
            for (int k = 0; k < OPPONENT_FORM; k++)
                out[k] += pairs * one[k] * state->overlap[x][y][k];
        }
}

double cell_group_estimate(const SearchState *state, const CellGroup *g, int to)
{
    double gradient[3] = {0.0}, curvature[OPPONENT_FORM], d[3], bent[3];
    for (int row = g->row; row < g->row + g->rows; row++)
        for (int column = g->column; column < g->column + g->columns; column++) {
            const float *s = state->gradient + 3 * search_state_at(state, column, row);
            for (int p = 0; p < 3; p++) gradient[p] += (double)s[p];
        }
    group_curvature(state, g, curvature);
    for (int p = 0; p < 3; p++) d[p] = state->value[to][p] - state->value[g->was][p];
    opponent_form_times(curvature, d, bent);
    return 2.0 * opponent_dot(d, gradient) + opponent_dot(d, bent);
}

void cell_group_learn(SearchState *state, const CellGroup *g, float *scratch)
{
    for (int row = g->row; row < g->row + g->rows; row++)
        for (int column = g->column; column < g->column + g->columns; column++)
            search_state_cell(state, column, row, scratch);
}

/* What the group would cost of that colour. */
static double local_cost(const SearchState *state, const CellGroup *g, const GroupSurround *s,
                         int colour)
{
    double cost = g->columns * g->rows * state->colour_price[colour];
    for (int row = g->row; row < g->row + g->rows; row++)
        for (int column = g->column; column < g->column + g->columns; column++)
            cost += search_state_detail(state, search_state_at(state, column, row), colour);
    for (int k = 0; k < s->count; k++)
        cost +=
            calm_pair(&state->calm, &s->partner[k], colour, state->grid->colour[s->partner[k].at]);
    return cost;
}

void cell_group_surround(const SearchState *state, const CellGroup *g, GroupSurround *s)
{
    const size_t first = search_state_at(state, g->column, g->row);
    s->count = 0;
    for (int row = g->row; row < g->row + g->rows; row++)
        for (int column = g->column; column < g->column + g->columns; column++) {
            CalmPartner partner[CALM_PARTNERS];
            const int count = calm_partners(&state->calm, column, row, partner);
            for (int k = 0; k < count; k++)
                if (!group_holds(g, first, partner[k].at, state->columns))
                    s->partner[s->count++] = partner[k];
        }
    s->stay = local_cost(state, g, s, g->was);
}

double cell_group_local_change(const SearchState *state, const CellGroup *g, const GroupSurround *s,
                               int to)
{
    return local_cost(state, g, s, to) - s->stay;
}

/* Changes all cells of the group; returns what reaches the eye more. */
static double shift_group(SearchState *state, const CellGroup *g, const double d[3], float *scratch)
{
    double sum = 0.0;
    for (int row = g->row; row < g->row + g->rows; row++)
        for (int column = g->column; column < g->column + g->columns; column++) {
            const Footprint footprint =
                perceived_error_footprint(state->perceived, column, row, scratch);
            sum += perceived_error_shift(state->perceived, &footprint, d);
        }
    return sum;
}

static void colour_group(SearchState *state, const CellGroup *g, int to)
{
    for (int row = g->row; row < g->row + g->rows; row++)
        for (int column = g->column; column < g->column + g->columns; column++) {
            state->grid->colour[search_state_at(state, column, row)] = (uint8_t)to;
            search_state_touch(state, column, row);
        }
}

double cell_group_take(SearchState *state, const CellGroup *g, int to, double local, float *scratch)
{
    double d[3];
    for (int p = 0; p < 3; p++) d[p] = state->value[to][p] - state->value[g->was][p];
    const double change = shift_group(state, g, d, scratch) + local;
    if (change < -LEAST_GAIN) {
        colour_group(state, g, to);
        return change;
    }
    for (int p = 0; p < 3; p++) d[p] = -d[p];
    shift_group(state, g, d, scratch);
    return 0.0;
}
