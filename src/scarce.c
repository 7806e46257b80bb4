#include "scarce.h"

#include "bands.h"
#include "memory.h"
#include "ration.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* What each colour costs in a cell, but for a constant; joints and duties counted. */
static void costs_at(Board *board, size_t at, float *scratch, double cost_out[NONE + 1])
{
    const int column = (int)(at % (size_t)board->columns), row = (int)(at / (size_t)board->columns);
    const Cell c = board_cell(board, column, row, scratch);
    board_costs(board, &c, board->value[board->grid->colour[at]], cost_out);
    const Near near = board_near(board, column, row);
    for (int i = 0; i < near.count; i++) cost_out[board->grid->colour[near.at[i]]] -= near.price[i];
}

static float *scratch_of(const Board *board, int worker)
{
    return board->scratch + (size_t)worker * board->scratch_size;
}

long scarce_excess(const Board *board)
{
    long count[NONE + 1], excess = 0;
    board_count(board, count);
    for (int c = 0; c < board->colours; c++)
        if (count[c] > board_limit(board, c)) excess += count[c] - board_limit(board, c);
    return excess;
}

/* ---- duties ----
 *
 * Duties are the prices that solve the transportation problem of a sample, were each cell's
 * costs to stay as they are. They change with the other cells, so a step goes but part of the
 * way. */

enum { SAMPLE = 8192, FINEST = 8 }; /* cells; parts of 1 that costs are told in */

typedef struct Offer {
    Board *board;
    const size_t *cell;
    uint16_t *cost; /* cells x colours */
} Offer;

/* What each colour costs in some cells, over the least. */
static void offer_costs(void *context, int begin, int end, int worker)
{
    const Offer *offer = context;
    Board *board = offer->board;
    for (int i = begin; i < end; i++) {
        double cost[NONE + 1], least = INFINITY;
        costs_at(board, offer->cell[i], scratch_of(board, worker), cost);
        for (int k = 0; k < board->colours; k++) {
            cost[k] -= board->duty[k];
            least = fmin(least, cost[k]);
        }
        for (int k = 0; k < board->colours; k++)
            offer->cost[(size_t)i * (size_t)board->colours + (size_t)k] =
                (uint16_t)fmin(UINT16_MAX, (cost[k] - least) * FINEST);
    }
}

/* Every so many of the cells that may change. */
static size_t sample_cells(const Board *board, size_t *cell)
{
    const size_t cells = (size_t)board->columns * (size_t)board->rows;
    size_t apart = cells / SAMPLE + 1, count = 0;
    if (apart > 1 && (size_t)board->columns % apart == 0) apart++; /* not all in a few columns */
    for (size_t at = 0; at < cells; at += apart)
        if (!board_keeps(board, at)) cell[count++] = at;
    return count;
}

static Status solve_sample(Board *board, const Offer *offer, size_t cells, uint8_t *colour,
                           double step, const Voice *voice, Fault *fault)
{
    long limit[NONE + 1];
    int64_t price[NONE + 1];
    double all = (double)board->columns * (double)board->rows;
    for (int c = 0; c < board->colours; c++) all -= (double)board->kept[c];
    const double share = (double)cells / all;
    for (int c = 0; c < board->colours; c++) {
        limit[c] = -1;
        if (board->barred[c])
            limit[c] = 0;
        else if (board->limit[c] >= 0)
            limit[c] = (long)fmin((double)cells, ceil(share * (double)board->limit[c]));
    }
    const Ration ration = {cells, board->colours, offer->cost, limit};
    const Status status = ration_solve(&ration, colour, price, voice, fault);
    for (int c = 0; c < board->colours && !status; c++)
        board->duty[c] += step * ((double)price[c] / FINEST - board->duty[c]);
    return status;
}

Status scarce_tax(Board *board, double step, const Voice *voice, Fault *fault)
{
    const size_t row = (size_t)board->colours * sizeof(uint16_t);
    size_t *cell = memory_create(SAMPLE, sizeof *cell);
    uint16_t *cost = memory_create(SAMPLE, row);
    uint8_t *colour = memory_create(SAMPLE, 1);
    Status status = STATUS_OK;
    if (cell && cost && colour) {
        Offer offer = {board, cell, cost};
        const size_t count = sample_cells(board, cell);
        bands_run(board->threads, (int)count, 64, offer_costs, &offer);
        status = solve_sample(board, &offer, count, colour, step, voice, fault);
    } else {
        status = memory_fault(fault, SAMPLE, row);
    }
    memory_free(colour);
    memory_free(cost);
    memory_free(cell);
    return status;
}

/* ---- by force ---- */

/* A cell, and what it costs it to leave its colour for the best that has room. */
typedef struct Leaver {
    size_t at;
    double cost;
    int to;
} Leaver;

typedef struct Leaving {
    Board *board;
    int colour;
    long room[NONE + 1]; /* of each colour */
    Leaver *leaver;
    size_t count;
} Leaving;

static void find_best(const Leaving *leaving, Leaver *leaver, int worker)
{
    Board *board = leaving->board;
    double cost[NONE + 1], least = INFINITY;
    costs_at(board, leaver->at, scratch_of(board, worker), cost);
    for (int i = 0; i < board->colours; i++)
        if (i != leaving->colour && !board->barred[i] && leaving->room[i] > 0 && cost[i] < least)
            least = cost[i], leaver->to = i;
    leaver->cost = least - cost[leaving->colour];
}

static void find_some(void *context, int begin, int end, int worker)
{
    const Leaving *leaving = context;
    for (int i = begin; i < end; i++) find_best(leaving, &leaving->leaver[i], worker);
}

static int by_cost(const void *a, const void *b)
{
    const Leaver *x = a, *y = b;
    if (x->cost != y->cost) return x->cost < y->cost ? -1 : 1;
    return x->at < y->at ? -1 : x->at > y->at;
}

/* The cells of the colour, in order of what leaving costs them. */
static void find_leavers(Leaving *leaving)
{
    const Board *board = leaving->board;
    const size_t cells = (size_t)board->columns * (size_t)board->rows;
    leaving->count = 0;
    for (size_t at = 0; at < cells; at++)
        if (board->grid->colour[at] == leaving->colour && !board_keeps(board, at))
            leaving->leaver[leaving->count++] = (Leaver){.at = at, .to = leaving->colour};
    bands_run(board->threads, (int)leaving->count, 64, find_some, leaving);
    qsort(leaving->leaver, leaving->count, sizeof *leaving->leaver, by_cost);
}

/* Those that can best do without the colour change until its limit holds. */
static void relieve_colour(Leaving *leaving, long excess)
{
    Board *board = leaving->board;
    find_leavers(leaving);
    for (size_t i = 0; i < (size_t)excess; i++) {
        Leaver *l = &leaving->leaver[i];
        find_best(leaving, l, 0);
        double d[3];
        for (int p = 0; p < 3; p++)
            d[p] = board->value[l->to][p] - board->value[leaving->colour][p];
        const Spot spot = retina_spot(board->retina, (int)(l->at % (size_t)board->columns),
                                      (int)(l->at / (size_t)board->columns), board->scratch);
        retina_shift(board->retina, &spot, d);
        board->grid->colour[l->at] = (uint8_t)l->to;
        leaving->room[l->to]--;
    }
}

Status scarce_relieve(Board *board, Fault *fault)
{
    const size_t cells = (size_t)board->columns * (size_t)board->rows;
    Leaving leaving = {.board = board, .leaver = memory_create(cells, sizeof(Leaver))};
    if (!leaving.leaver) return memory_fault(fault, cells, sizeof(Leaver));
    long count[NONE + 1];
    memset(board->duty, 0, sizeof board->duty);
    board_count(board, count);
    for (int c = 0; c < board->colours; c++) leaving.room[c] = board_limit(board, c) - count[c];
    for (int c = 0; c < board->colours; c++) {
        const long excess = -leaving.room[c];
        if (excess <= 0) continue;
        leaving.colour = c;
        relieve_colour(&leaving, excess);
        leaving.room[c] = 0;
    }
    memory_free(leaving.leaver);
    return STATUS_OK;
}

Status scarce_check(Board *board, Fault *fault)
{
    long cells = (long)board->columns * (long)board->rows, room = 0;
    for (int c = 0; c < board->colours; c++) cells -= board->kept[c];
    for (int c = 0; c < board->colours; c++) {
        const long limit = board_limit(board, c) - board->kept[c];
        board->barred[c] |= limit == 0;
        if (board->barred[c]) continue;
        if (room < cells) room += limit < cells ? limit : cells;
    }
    if (room >= cells) return STATUS_OK;
    return fault_set(fault, STATUS_DATA,
                     "stock: enough for %ld cells of %ld; raise some colour's limit or plan a "
                     "smaller mural",
                     room, cells);
}
