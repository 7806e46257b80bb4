#include "cells/cell_groups.h"

static size_t cell_at(const SearchState *state, int column, int row)
{
    return (size_t)row * (size_t)state->columns + (size_t)column;
}

bool cell_group_holds(const CellGroup *g, size_t at, int columns)
{
    const int column = (int)(at % (size_t)columns), row = (int)(at / (size_t)columns);
    return column >= g->column && column < g->column + g->columns && row >= g->row &&
           row < g->row + g->rows;
}

/* The sum of A over all pairs of the group's cells, taking the weights to be alike. */
static void self_of(const SearchState *state, const CellGroup *g, double out[6])
{
    const double *self = state->self + 6 * cell_at(state, g->column, g->row);
    for (int k = 0; k < 6; k++) out[k] = 0.0;
    for (int x = 0; x < g->columns; x++)
        for (int y = 0; y < g->rows; y++) {
            const double times_seen = (x ? 2.0 : 1.0) * (double)(g->columns - x) * (y ? 2.0 : 1.0) *
                                      (double)(g->rows - y);
            for (int k = 0; k < 6; k++) out[k] += times_seen * self[k] * state->overlap[x][y][k];
        }
}

double cell_group_estimate(const SearchState *state, const CellGroup *g, int to)
{
    double slope[3] = {0.0}, self[6], d[3], pulled[3];
    for (int row = g->row; row < g->row + g->rows; row++)
        for (int column = g->column; column < g->column + g->columns; column++) {
            const float *s = state->slope + 3 * cell_at(state, column, row);
            for (int p = 0; p < 3; p++) slope[p] += (double)s[p];
        }
    self_of(state, g, self);
    for (int p = 0; p < 3; p++) d[p] = state->value[to][p] - state->value[g->was][p];
    times(self, d, pulled);
    return 2.0 * dot(d, slope) + dot(d, pulled);
}

void cell_group_learn(SearchState *state, const CellGroup *g, float *scratch)
{
    for (int row = g->row; row < g->row + g->rows; row++)
        for (int column = g->column; column < g->column + g->columns; column++)
            search_state_cell(state, column, row, scratch);
}

double cell_group_rest(const SearchState *state, const CellGroup *g, int to)
{
    double rest = g->columns * g->rows * (state->duty[to] - state->duty[g->was]);
    for (int row = g->row; row < g->row + g->rows; row++)
        for (int column = g->column; column < g->column + g->columns; column++) {
            const size_t at = cell_at(state, column, row);
            rest += search_state_close(state, at, to) - search_state_close(state, at, g->was);
        }
    return rest;
}

/* Changes all cells of the group; returns what reaches the eye more. */
static double shift(SearchState *state, const CellGroup *g, const double d[3], float *scratch)
{
    double sum = 0.0;
    for (int row = g->row; row < g->row + g->rows; row++)
        for (int column = g->column; column < g->column + g->columns; column++) {
            const Spot spot = retina_spot(state->retina, column, row, scratch);
            sum += retina_shift(state->retina, &spot, d);
        }
    return sum;
}

static void colour(SearchState *state, const CellGroup *g, int to)
{
    for (int row = g->row; row < g->row + g->rows; row++)
        for (int column = g->column; column < g->column + g->columns; column++) {
            state->grid->colour[cell_at(state, column, row)] = (uint8_t)to;
            search_state_touch(state, column, row);
        }
}

double cell_group_take(SearchState *state, const CellGroup *g, int to, double rest, float *scratch)
{
    double d[3];
    for (int p = 0; p < 3; p++) d[p] = state->value[to][p] - state->value[g->was][p];
    const double change = shift(state, g, d, scratch) + rest;
    if (change < -LEAST_GAIN) {
        colour(state, g, to);
        return change;
    }
    for (int p = 0; p < 3; p++) d[p] = -d[p];
    shift(state, g, d, scratch);
    return 0.0;
}
