/* Own cells: the user's own choice of colours, an edited cells.png. */
#ifndef ROWLOCK_PLAN_OWN_CELLS_H
#define ROWLOCK_PLAN_OWN_CELLS_H

#include "model/grid.h"
#include "model/palette.h"
#include "plan/brief.h"

/* The cells as they were painted, flat; empty where the job names none. grid_clear also
 * after a fault. */
Status own_cells_init(Grid *own_out, const Brief *brief, const Palette *palette, Fault *fault);

#endif
