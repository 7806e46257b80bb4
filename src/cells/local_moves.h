/* Local moves: changes of one cell and of a few at once that lower a state's objective. */
#ifndef ROWLOCK_CELLS_LOCAL_MOVES_H
#define ROWLOCK_CELLS_LOCAL_MOVES_H

#include "cells/search_state.h"

/* Makes what moves it can at one cell: another colour; another colour for a short run or
 * a square of cells that starts there; and where the tile has quotas, a swap with a cell nearby,
 * which keeps them. Gain, changes and quotas of the tile follow. */
void local_move_at(SearchState *state, int column, int row, Tile *tile);

#endif
