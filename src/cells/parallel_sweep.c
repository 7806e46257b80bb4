/* The face is cut into tiles so wide that two of them with a third between never see each other's
 * changes. A sweep goes through four phases, like the colours of a chessboard of two by two: the
 * tiles of one phase are swept at once, by any threads, in any order, and come out the same.
 *
 * Limits hold across threads because each tile of a phase gets a quota of its own of what is left
 * of every colour; the odd ones go to another tile in each sweep. */
#include "cells/parallel_sweep.h"

#include "base/bands.h"
#include "base/memory.h"
#include "cells/local_moves.h"

#include <limits.h>

static long *tile_quota(const SearchState *state, int tile)
{
    return state->quotas ? state->quotas + (size_t)tile * COLOUR_SLOTS : NULL;
}

static bool passed_over(const SearchState *state, int column, int row)
{
    return !state->visit_all &&
           state->touched[row / BLOCK_SIDE * state->blocks_across + column / BLOCK_SIDE] <
               state->sweep - 1;
}

typedef struct Sweep {
    SearchState *state;
    SweepMove *move;
    void *context;
} Sweep;

static int least_of(int a, int b) { return a < b ? a : b; }

static void sweep_tile(const Sweep *sweep, int tx, int ty, float *scratch)
{
    SearchState *state = sweep->state;
    const int side = state->tile_side, at = ty * state->tiles_across + tx;
    const int right = least_of((tx + 1) * side, state->columns);
    const int top = least_of((ty + 1) * side, state->rows);
    Tile *tile = &state->tiles[at];
    *tile = (Tile){.quota = tile_quota(state, at), .scratch = scratch};
    for (int row = ty * side; row < top; row++)
        for (int column = tx * side; column < right; column++)
            if (!passed_over(state, column, row))
                sweep->move(sweep->context, state, column, row, tile);
}

static void sweep_tiles(void *context, int begin, int end, int worker)
{
    const Sweep *sweep = context;
    const SearchState *state = sweep->state;
    float *scratch = state->scratch + (size_t)worker * state->scratch_size;
    const int across = (state->tiles_across + 1) / 2;
    for (int i = begin; i < end; i++) {
        const int tx = 2 * (i % across) + state->phase % 2;
        const int ty = 2 * (i / across) + state->phase / 2;
        if (tx < state->tiles_across && ty < state->tiles_up) sweep_tile(sweep, tx, ty, scratch);
    }
}

/* What is left of each colour is dealt to the tiles of the phase. */
static void deal_quotas(SearchState *state)
{
    long count[COLOUR_SLOTS];
    search_state_count(state, count);
    const int tiles = state->tiles_across * state->tiles_up;
    int dealt = 0;
    for (int t = 0; t < tiles; t++)
        dealt += t % state->tiles_across % 2 == state->phase % 2 &&
                 t / state->tiles_across % 2 == state->phase / 2;
    for (int t = 0, nth = 0; t < tiles; t++) {
        if (t % state->tiles_across % 2 != state->phase % 2 ||
            t / state->tiles_across % 2 != state->phase / 2)
            continue;
        for (int c = 0; c < state->colours; c++) {
            const long left = search_state_limit(state, c) - count[c];
            const int turn = (nth + state->sweep) % dealt;
            tile_quota(state, t)[c] = state->problem.limit[c] < 0
                                          ? LONG_MAX / 2
                                          : left / dealt + (turn < (int)(left % dealt));
        }
        nth++;
    }
}

long parallel_sweep_with(SearchState *state, SweepMove *move, void *context)
{
    Sweep sweep = {state, move, context};
    const int tiles = state->tiles_across * state->tiles_up;
    const int rounds = (state->tiles_across + 1) / 2 * ((state->tiles_up + 1) / 2);
    for (state->phase = 0; state->phase < 4; state->phase++) {
        if (state->quotas) deal_quotas(state);
        bands_run_until(state->problem.voice, state->problem.threads, rounds, 1, sweep_tiles,
                        &sweep);
    }
    long changes = 0;
    for (int t = 0; t < tiles; t++) {
        changes += state->tiles[t].changes;
        state->objective += state->tiles[t].gain;
    }
    return changes;
}

static void move_at(void *context, SearchState *state, int column, int row, Tile *tile)
{
    (void)context;
    local_move_at(state, column, row, tile);
}

long parallel_sweep(SearchState *state) { return parallel_sweep_with(state, move_at, NULL); }

Status parallel_sweep_hold_limits(SearchState *state, Fault *fault)
{
    const size_t tiles = (size_t)state->tiles_across * (size_t)state->tiles_up;
    state->quotas = memory_create(tiles, COLOUR_SLOTS * sizeof *state->quotas);
    return state->quotas ? STATUS_OK
                         : memory_fault(fault, tiles, COLOUR_SLOTS * sizeof *state->quotas);
}
