/* Parallel sweep: one pass of moves over all cells of a state, on any number of threads. */
#ifndef ROWLOCK_CELLS_PARALLEL_SWEEP_H
#define ROWLOCK_CELLS_PARALLEL_SWEEP_H

#include "cells/search_state.h"

/* What a sweep does at each cell. It may change cells up to GROUP_MOST beyond it and what
 * belongs to them; see local_move_at for the tile. */
typedef void SweepMove(void *context, SearchState *state, int column, int row, Tile *tile);

/* Returns the number of cells changed, some of them only where the problem's voice is stopped;
 * state->objective follows what that changed. */
long parallel_sweep_with(SearchState *state, SweepMove *move, void *context);

/* The same with local_move_at. */
long parallel_sweep(SearchState *state);

/* From now on limits hold, which they must do already: a colour's count never grows past
 * its limit. */
Status parallel_sweep_hold_limits(SearchState *state, Fault *fault);

#endif
