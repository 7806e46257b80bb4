/* Sweep: one pass of moves over all cells of a board, on any number of threads. */
#ifndef ROWLOCK_SWEEP_H
#define ROWLOCK_SWEEP_H

#include "board.h"

/* Returns the number of cells changed, and adds to *objective what that changed. */
long sweep_board(Board *board, double *objective);

/* From now on limits hold, which they must do already: a colour's count never grows past
 * its limit. */
Status sweep_hold_limits(Board *board, Fault *fault);

#endif
