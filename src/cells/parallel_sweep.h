/* Parallel sweep: one pass of moves over all cells of a state, on any number of threads. */
#ifndef ROWLOCK_CELLS_PARALLEL_SWEEP_H
#define ROWLOCK_CELLS_PARALLEL_SWEEP_H

#include "cells/search_state.h"

/* What a sweep does at each cell. It may change cells up to RUN_MOST beyond it and what
 * belongs to them; quota as for local_move_at. */
typedef void SweepMove(void *context, SearchState *state, int column, int row, TileWork *tile,
                       long *quota, float *scratch);
long parallel_sweep_with(SearchState *state, SweepMove *move, void *context, double *objective);

/* The same with local_move_at. Returns the number of cells changed, and adds to *objective what
 * that changed. */
long parallel_sweep(SearchState *state, double *objective);

/* From now on limits hold, which they must do already: a colour's count never grows past
 * its limit. */
Status parallel_sweep_hold_limits(SearchState *state, Fault *fault);

#endif
