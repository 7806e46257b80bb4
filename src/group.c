#include "group.h"

static size_t cell_at(const Board *board, int column, int row)
{
    return (size_t)row * (size_t)board->columns + (size_t)column;
}

bool group_holds(const Group *g, size_t at, int columns)
{
    const int column = (int)(at % (size_t)columns), row = (int)(at / (size_t)columns);
    return column >= g->column && column < g->column + g->columns && row >= g->row &&
           row < g->row + g->rows;
}

/* The sum of A over all pairs of the group's cells, taking the weights to be alike. */
static void self_of(const Board *board, const Group *g, double out[6])
{
    const double *self = board->self + 6 * cell_at(board, g->column, g->row);
    for (int k = 0; k < 6; k++) out[k] = 0.0;
    for (int x = 0; x < g->columns; x++)
        for (int y = 0; y < g->rows; y++) {
            const double times_seen = (x ? 2.0 : 1.0) * (double)(g->columns - x) * (y ? 2.0 : 1.0) *
                                      (double)(g->rows - y);
            for (int k = 0; k < 6; k++) out[k] += times_seen * self[k] * board->overlap[x][y][k];
        }
}

double group_estimate(const Board *board, const Group *g, int to)
{
    double slope[3] = {0.0}, self[6], d[3], pulled[3];
    for (int row = g->row; row < g->row + g->rows; row++)
        for (int column = g->column; column < g->column + g->columns; column++) {
            const float *s = board->slope + 3 * cell_at(board, column, row);
            for (int p = 0; p < 3; p++) slope[p] += (double)s[p];
        }
    self_of(board, g, self);
    for (int p = 0; p < 3; p++) d[p] = board->value[to][p] - board->value[g->was][p];
    times(self, d, pulled);
    return 2.0 * dot(d, slope) + dot(d, pulled);
}

void group_learn(Board *board, const Group *g, float *scratch)
{
    for (int row = g->row; row < g->row + g->rows; row++)
        for (int column = g->column; column < g->column + g->columns; column++)
            board_cell(board, column, row, scratch);
}

double group_rest(const Board *board, const Group *g, int to)
{
    double rest = g->columns * g->rows * (board->duty[to] - board->duty[g->was]);
    for (int row = g->row; row < g->row + g->rows; row++)
        for (int column = g->column; column < g->column + g->columns; column++) {
            const size_t at = cell_at(board, column, row);
            rest += board_close(board, at, to) - board_close(board, at, g->was);
        }
    return rest;
}

/* Changes all cells of the group; returns what reaches the eye more. */
static double shift(Board *board, const Group *g, const double d[3], float *scratch)
{
    double sum = 0.0;
    for (int row = g->row; row < g->row + g->rows; row++)
        for (int column = g->column; column < g->column + g->columns; column++) {
            const Spot spot = retina_spot(board->retina, column, row, scratch);
            sum += retina_shift(board->retina, &spot, d);
        }
    return sum;
}

static void colour(Board *board, const Group *g, int to)
{
    for (int row = g->row; row < g->row + g->rows; row++)
        for (int column = g->column; column < g->column + g->columns; column++) {
            board->grid->colour[cell_at(board, column, row)] = (uint8_t)to;
            board_touch(board, column, row);
        }
}

double group_take(Board *board, const Group *g, int to, double rest, float *scratch)
{
    double d[3];
    for (int p = 0; p < 3; p++) d[p] = board->value[to][p] - board->value[g->was][p];
    const double change = shift(board, g, d, scratch) + rest;
    if (change < -LEAST_GAIN) {
        colour(board, g, to);
        return change;
    }
    for (int p = 0; p < 3; p++) d[p] = -d[p];
    shift(board, g, d, scratch);
    return 0.0;
}
