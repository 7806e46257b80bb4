/* Move: changes of one cell and of a few at once that lower a board's objective. */
#ifndef ROWLOCK_MOVE_H
#define ROWLOCK_MOVE_H

#include "board.h"

/* Makes what moves it can at one cell: another colour; another colour for a short run or
 * a square of cells that starts there; and where quotas hold (quota is not NULL: how many
 * more cells each colour may take here), a swap with a cell nearby, which keeps them. */
void move_at(Board *board, int column, int row, TileWork *tile, long *quota, float *scratch);

#endif
