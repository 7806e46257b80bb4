#include "scarce.h"

#include "memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

bool scarce_tax(Board *board)
{
    long count[NONE + 1];
    bool over = false;
    board_count(board, count);
    for (int c = 0; c < board->colours; c++) {
        const long limit = board_limit(board, c);
        if (count[c] > limit) {
            board->duty[c] +=
                0.25 + 0.5 * fmin(4.0, (double)(count[c] - limit) / (double)(limit + 1));
            over = true;
        } else if (board->duty[c] > 0.0 && count[c] < limit - limit / 16) {
            board->duty[c] *= 0.8;
        }
    }
    return over;
}

typedef struct Leaver {
    double cost;
    size_t at;
} Leaver;

static int by_cost(const void *a, const void *b)
{
    const Leaver *x = a, *y = b;
    if (x->cost != y->cost) return x->cost < y->cost ? -1 : 1;
    return x->at < y->at ? -1 : x->at > y->at;
}

/* What it costs a cell to leave its colour for the best that has room. */
static double leaving_cost(Board *board, const Cell *c, const long *room, int *to_out)
{
    double cost[NONE + 1];
    const int was = board->grid->colour[c->at];
    board_costs(board, c, board->value[was], cost);
    const Near near = board_near(board, c->column, c->row);
    for (int i = 0; i < near.count; i++) cost[board->grid->colour[near.at[i]]] -= near.price[i];
    double least = INFINITY;
    for (int i = 0; i < board->colours; i++)
        if (i != was && !board->barred[i] && room[i] > 0 && cost[i] < least)
            least = cost[i], *to_out = i;
    return least - cost[was];
}

/* The cells of one colour that can best do without it change until its limit holds. */
static void relieve_colour(Board *board, int colour, long excess, long *room, Leaver *leaver)
{
    const size_t cells = (size_t)board->columns * (size_t)board->rows;
    size_t count = 0;
    int to = colour;
    for (size_t at = 0; at < cells; at++) {
        if (board->grid->colour[at] != colour || board_keeps(board, at)) continue;
        const Cell c = board_cell(board, (int)(at % (size_t)board->columns),
                                  (int)(at / (size_t)board->columns), board->scratch);
        leaver[count++] = (Leaver){leaving_cost(board, &c, room, &to), at};
    }
    qsort(leaver, count, sizeof *leaver, by_cost);
    for (size_t i = 0; i < (size_t)excess; i++) {
        const size_t at = leaver[i].at;
        const Cell c = board_cell(board, (int)(at % (size_t)board->columns),
                                  (int)(at / (size_t)board->columns), board->scratch);
        leaving_cost(board, &c, room, &to);
        double d[3];
        for (int p = 0; p < 3; p++) d[p] = board->value[to][p] - board->value[colour][p];
        retina_shift(board->retina, &c.spot, d);
        board->grid->colour[at] = (uint8_t)to;
        room[to]--;
    }
}

Status scarce_relieve(Board *board, Fault *fault)
{
    const size_t cells = (size_t)board->columns * (size_t)board->rows;
    Leaver *leaver = memory_create(cells, sizeof *leaver);
    if (!leaver) return memory_fault(fault, cells, sizeof *leaver);
    memset(board->duty, 0, sizeof board->duty);
    long count[NONE + 1], room[NONE + 1];
    board_count(board, count);
    for (int c = 0; c < board->colours; c++) room[c] = board_limit(board, c) - count[c];
    for (int c = 0; c < board->colours; c++)
        if (room[c] < 0) {
            relieve_colour(board, c, -room[c], room, leaver);
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
