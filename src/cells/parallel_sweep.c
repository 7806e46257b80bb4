#include "cells/parallel_sweep.h"

#include "base/bands.h"
#include "base/memory.h"
#include "cells/local_moves.h"

#include <limits.h>

static long *tile_quota(const SearchState *state, int tile)
{
    return state->quota ? state->quota + (size_t)tile * (NONE + 1) : NULL;
}

static bool passed_over(const SearchState *state, int column, int row)
{
    return !state->everywhere &&
           state->touched[row / BLOCK * state->blocks_across + column / BLOCK] < state->sweep - 1;
}

typedef struct Sweep {
    SearchState *state;
    SweepMove *move;
    void *context;
} Sweep;

/* Tiles of one phase have a whole tile between them, so that nothing one of them changes
 * is seen by another: in any order, on any thread, they come out the same. */
static void parallel_sweep_tiles(void *context, int begin, int end, int worker)
{
    const Sweep *sweep = context;
    SearchState *state = sweep->state;
    float *scratch = state->scratch + (size_t)worker * state->scratch_size;
    const int across = (state->tiles_across + 1) / 2;
    for (int i = begin; i < end; i++) {
        const int tx = 2 * (i % across) + state->phase % 2,
                  ty = 2 * (i / across) + state->phase / 2;
        if (tx >= state->tiles_across || ty >= state->tiles_up) continue;
        const int at = ty * state->tiles_across + tx;
        const int right =
            (tx + 1) * state->tile < state->columns ? (tx + 1) * state->tile : state->columns;
        const int top = (ty + 1) * state->tile < state->rows ? (ty + 1) * state->tile : state->rows;
        for (int row = ty * state->tile; row < top; row++)
            for (int column = tx * state->tile; column < right; column++)
                if (!passed_over(state, column, row))
                    sweep->move(sweep->context, state, column, row, &state->tiles[at],
                                tile_quota(state, at), scratch);
    }
}

/* What is left of each colour is dealt to the tiles of the phase. */
static void deal_quotas(SearchState *state)
{
    long count[NONE + 1];
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
            tile_quota(state, t)[c] =
                state->limit[c] < 0 ? LONG_MAX / 2 : left / dealt + (turn < (int)(left % dealt));
        }
        nth++;
    }
}

long parallel_sweep_with(SearchState *state, SweepMove *move, void *context, double *objective)
{
    Sweep sweep = {state, move, context};
    const int tiles = state->tiles_across * state->tiles_up;
    for (int t = 0; t < tiles; t++) state->tiles[t] = (TileWork){0};
    const int rounds = (state->tiles_across + 1) / 2 * ((state->tiles_up + 1) / 2);
    for (state->phase = 0; state->phase < 4; state->phase++) {
        if (state->quota) deal_quotas(state);
        bands_run(state->threads, rounds, 1, parallel_sweep_tiles, &sweep);
    }
    long changes = 0;
    for (int t = 0; t < tiles; t++) {
        changes += state->tiles[t].changes;
        *objective += state->tiles[t].gain;
    }
    return changes;
}

static void plain_move(void *context, SearchState *state, int column, int row, TileWork *tile,
                       long *quota, float *scratch)
{
    (void)context;
    local_move_at(state, column, row, tile, quota, scratch);
}

long parallel_sweep(SearchState *state, double *objective)
{
    return parallel_sweep_with(state, plain_move, NULL, objective);
}

Status parallel_sweep_hold_limits(SearchState *state, Fault *fault)
{
    const size_t tiles = (size_t)state->tiles_across * (size_t)state->tiles_up;
    state->quota = memory_create(tiles, (NONE + 1) * sizeof *state->quota);
    return state->quota ? STATUS_OK : memory_fault(fault, tiles, (NONE + 1) * sizeof *state->quota);
}
