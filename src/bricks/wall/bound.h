/* Bound: how many bricks a panel of a wall needs at least, however it is laid. */
#ifndef ROWLOCK_BRICKS_WALL_BOUND_H
#define ROWLOCK_BRICKS_WALL_BOUND_H

#include "base/status.h"
#include "bricks/wall/course.h"
#include "model/grid.h"
#include "model/panel.h"

/* Of a flat panel. With no rounds, and one brick thick: holds for every laying that fills the panel
 * and keeps to the colours. With rounds: for those that, two and more thick, leave no joint right
 * through in line over three courses where a brick could cross it; more rounds make it sharper,
 * each at the cost of a sweep over the panel. */
Status bound_flat_wall(double *bound_out, const Solid *solid, const Panel *panel, const Cuts *cuts,
                       int rounds, Fault *fault);

#endif
