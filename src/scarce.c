#include "scarce.h"

#include "bands.h"
#include "memory.h"
#include "ration.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A cell, and what it costs it to leave its colour for the best that has room. */
typedef struct Leaver {
    size_t at;
    double cost;
    int colour, to;
} Leaver;

static int by_colour_and_cost(const void *a, const void *b)
{
    const Leaver *x = a, *y = b;
    if (x->colour != y->colour) return x->colour < y->colour ? -1 : 1;
    if (x->cost != y->cost) return x->cost < y->cost ? -1 : 1;
    return x->at < y->at ? -1 : x->at > y->at;
}

typedef struct Leaving {
    Board *board;
    const long *room; /* by colour */
    Leaver *leaver;
    size_t count;
} Leaving;

static void find_cost(const Leaving *leaving, Leaver *leaver, float *scratch)
{
    Board *board = leaving->board;
    double cost[NONE + 1];
    const Cell c = board_cell(board, (int)(leaver->at % (size_t)board->columns),
                              (int)(leaver->at / (size_t)board->columns), scratch);
    const int was = leaver->colour;
    board_costs(board, &c, board->value[was], cost);
    const Near near = board_near(board, c.column, c.row);
    for (int i = 0; i < near.count; i++) cost[board->grid->colour[near.at[i]]] -= near.price[i];
    double least = INFINITY;
    leaver->to = was;
    for (int i = 0; i < board->colours; i++)
        if (i != was && !board->barred[i] && leaving->room[i] > 0 && cost[i] < least)
            least = cost[i], leaver->to = i;
    leaver->cost = least - cost[was];
}

static void find_costs_of(void *context, int begin, int end, int worker)
{
    const Leaving *leaving = context;
    float *scratch = leaving->board->scratch + (size_t)worker * leaving->board->scratch_size;
    for (int i = begin; i < end; i++) find_cost(leaving, &leaving->leaver[i], scratch);
}

/* Lists of each colour one cell in `apart`, none where that is 0; in order of what leaving
 * costs them. */
static void find_leavers(Leaving *leaving, const long apart[NONE + 1])
{
    Board *board = leaving->board;
    const size_t cells = (size_t)board->columns * (size_t)board->rows;
    long seen[NONE + 1] = {0};
    leaving->count = 0;
    for (size_t at = 0; at < cells; at++) {
        const int colour = board->grid->colour[at];
        if (!apart[colour] || board_keeps(board, at) || seen[colour]++ % apart[colour]) continue;
        leaving->leaver[leaving->count++] = (Leaver){.at = at, .colour = colour};
    }
    bands_run(board->threads, (int)leaving->count, 64, find_costs_of, leaving);
    if (leaving->count)
        qsort(leaving->leaver, leaving->count, sizeof *leaving->leaver, by_colour_and_cost);
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
    float *scratch = board->scratch + (size_t)worker * board->scratch_size;
    for (int i = begin; i < end; i++) {
        double cost[NONE + 1], least = INFINITY;
        const size_t at = offer->cell[i];
        const Cell c = board_cell(board, (int)(at % (size_t)board->columns),
                                  (int)(at / (size_t)board->columns), scratch);
        board_costs(board, &c, board->value[board->grid->colour[at]], cost);
        const Near near = board_near(board, c.column, c.row);
        for (int k = 0; k < near.count; k++) cost[board->grid->colour[near.at[k]]] -= near.price[k];
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

/* The cells of one colour that can best do without it change until its limit holds. */
static void relieve_colour(Leaving *leaving, int colour, long excess, long *room)
{
    Board *board = leaving->board;
    long apart[NONE + 1] = {0};
    apart[colour] = 1;
    find_leavers(leaving, apart);
    for (size_t i = 0; i < (size_t)excess; i++) {
        Leaver *l = &leaving->leaver[i];
        find_cost(leaving, l, board->scratch);
        double d[3];
        for (int p = 0; p < 3; p++) d[p] = board->value[l->to][p] - board->value[colour][p];
        const Spot spot = retina_spot(board->retina, (int)(l->at % (size_t)board->columns),
                                      (int)(l->at / (size_t)board->columns), board->scratch);
        retina_shift(board->retina, &spot, d);
        board->grid->colour[l->at] = (uint8_t)l->to;
        room[l->to]--;
    }
}

Status scarce_relieve(Board *board, Fault *fault)
{
    const size_t cells = (size_t)board->columns * (size_t)board->rows;
    Leaver *leaver = memory_create(cells, sizeof *leaver);
    if (!leaver) return memory_fault(fault, cells, sizeof *leaver);
    long count[NONE + 1], room[NONE + 1];
    Leaving leaving = {board, room, leaver, 0};
    memset(board->duty, 0, sizeof board->duty);
    board_count(board, count);
    for (int c = 0; c < board->colours; c++) room[c] = board_limit(board, c) - count[c];
    for (int c = 0; c < board->colours; c++)
        if (room[c] < 0) {
            relieve_colour(&leaving, c, -room[c], room);
            room[c] = 0;
        }
    memory_free(leaver);
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
