/* Sweep: one pass of moves over all cells of a board, on any number of threads. */
#ifndef ROWLOCK_SWEEP_H
#define ROWLOCK_SWEEP_H

#include "board.h"

/* What a sweep does at each cell. It may change cells up to RUN_MOST beyond it and what
 * belongs to them; quota as for move_at. */
typedef void SweepMove(void *context, Board *board, int column, int row, TileWork *tile,
                       long *quota, float *scratch);
long sweep_board_with(Board *board, SweepMove *move, void *context, double *objective);

/* The same with move_at. Returns the number of cells changed, and adds to *objective what that
 * changed. */
long sweep_board(Board *board, double *objective);

/* From now on limits hold, which they must do already: a colour's count never grows past
 * its limit. */
Status sweep_hold_limits(Board *board, Fault *fault);

#endif
