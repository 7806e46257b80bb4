/* Connect panels: raises a few cells of a relief wall where its panels come apart. */
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
