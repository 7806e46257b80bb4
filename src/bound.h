/* Bound: how many bricks a panel of a wall needs at least, however it is laid. */
#ifndef ROWLOCK_BOUND_H
#define ROWLOCK_BOUND_H

#include "course.h"
#include "grid.h"
#include "panel.h"
#include "status.h"

/* Holds for every laying of the panel that fills it, keeps to the colours, and leaves no
 * joint right through in line over three courses where a brick could cross it. More
 * rounds make it sharper, each at the cost of a sweep over the panel. */
Status bound_wall(double *bound_out, const Solid *solid, const Panel *panel, const Cuts *cuts,
                  int rounds, Fault *fault);

#endif
