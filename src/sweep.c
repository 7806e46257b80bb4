#include "sweep.h"

#include "bands.h"
#include "memory.h"
#include "move.h"

#include <limits.h>

static long *tile_quota(const Board *board, int tile)
{
    return board->quota ? board->quota + (size_t)tile * (NONE + 1) : NULL;
}

static bool passed_over(const Board *board, int column, int row)
{
    return !board->everywhere &&
           board->touched[row / BLOCK * board->blocks_across + column / BLOCK] < board->sweep - 1;
}

typedef struct Sweep {
    Board *board;
    SweepMove *move;
    void *context;
} Sweep;

/* Tiles of one phase have a whole tile between them, so that nothing one of them changes
 * is seen by another: in any order, on any thread, they come out the same. */
static void sweep_tiles(void *context, int begin, int end, int worker)
{
    const Sweep *sweep = context;
    Board *board = sweep->board;
    float *scratch = board->scratch + (size_t)worker * board->scratch_size;
    const int across = (board->tiles_across + 1) / 2;
    for (int i = begin; i < end; i++) {
        const int tx = 2 * (i % across) + board->phase % 2,
                  ty = 2 * (i / across) + board->phase / 2;
        if (tx >= board->tiles_across || ty >= board->tiles_up) continue;
        const int at = ty * board->tiles_across + tx;
        const int right =
            (tx + 1) * board->tile < board->columns ? (tx + 1) * board->tile : board->columns;
        const int top = (ty + 1) * board->tile < board->rows ? (ty + 1) * board->tile : board->rows;
        for (int row = ty * board->tile; row < top; row++)
            for (int column = tx * board->tile; column < right; column++)
                if (!passed_over(board, column, row))
                    sweep->move(sweep->context, board, column, row, &board->tiles[at],
                                tile_quota(board, at), scratch);
    }
}

/* What is left of each colour is dealt to the tiles of the phase. */
static void deal_quotas(Board *board)
{
    long count[NONE + 1];
    board_count(board, count);
    const int tiles = board->tiles_across * board->tiles_up;
    int dealt = 0;
    for (int t = 0; t < tiles; t++)
        dealt += t % board->tiles_across % 2 == board->phase % 2 &&
                 t / board->tiles_across % 2 == board->phase / 2;
    for (int t = 0, nth = 0; t < tiles; t++) {
        if (t % board->tiles_across % 2 != board->phase % 2 ||
            t / board->tiles_across % 2 != board->phase / 2)
            continue;
        for (int c = 0; c < board->colours; c++) {
            const long left = board_limit(board, c) - count[c];
            const int turn = (nth + board->sweep) % dealt;
            tile_quota(board, t)[c] =
                board->limit[c] < 0 ? LONG_MAX / 2 : left / dealt + (turn < (int)(left % dealt));
        }
        nth++;
    }
}

long sweep_board_with(Board *board, SweepMove *move, void *context, double *objective)
{
    Sweep sweep = {board, move, context};
    const int tiles = board->tiles_across * board->tiles_up;
    for (int t = 0; t < tiles; t++) board->tiles[t] = (TileWork){0};
    const int rounds = (board->tiles_across + 1) / 2 * ((board->tiles_up + 1) / 2);
    for (board->phase = 0; board->phase < 4; board->phase++) {
        if (board->quota) deal_quotas(board);
        bands_run(board->threads, rounds, 1, sweep_tiles, &sweep);
    }
    long changes = 0;
    for (int t = 0; t < tiles; t++) {
        changes += board->tiles[t].changes;
        *objective += board->tiles[t].gain;
    }
    return changes;
}

static void plain_move(void *context, Board *board, int column, int row, TileWork *tile,
                       long *quota, float *scratch)
{
    (void)context;
    move_at(board, column, row, tile, quota, scratch);
}

long sweep_board(Board *board, double *objective)
{
    return sweep_board_with(board, plain_move, NULL, objective);
}

Status sweep_hold_limits(Board *board, Fault *fault)
{
    const size_t tiles = (size_t)board->tiles_across * (size_t)board->tiles_up;
    board->quota = memory_create(tiles, (NONE + 1) * sizeof *board->quota);
    return board->quota ? STATUS_OK : memory_fault(fault, tiles, (NONE + 1) * sizeof *board->quota);
}
