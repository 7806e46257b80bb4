/* Connect panels: raises a few cells of a relief wall where its panels come apart.
 *
 * No brick shows two colours, so where colours part a panel from its lowest course to its
 * highest only a brick behind the face can join it, and there may be none: a wall one unit
 * thick has nothing behind it. Two cells beside the line, one above the other, raised by a
 * step, are enough: of their two courses one has a header that carries the step, the other a
 * brick behind it, of the colour across the line, that laps it. The places are taken that raise the
 * fewest steps, until the pieces are one. */
#ifndef ROWLOCK_HOLD_CONNECT_PANELS_H
#define ROWLOCK_HOLD_CONNECT_PANELS_H

#include "base/status.h"
#include "model/grid.h"
#include "model/laid.h"
#include "model/panel.h"

/* `laid` is a laying of the solid of `grid`, in panels. *raised_out is the number of cells
 * raised: none where every panel is one piece, in a flat wall and in a plaque. */
Status connect_panels(Grid *grid, const Solid *solid, const Panels *panels, const Laid *laid,
                      size_t *raised_out, Fault *fault);

#endif
