/* Wall sweep: lays the courses of a panel, each against its neighbours. */
#ifndef ROWLOCK_BRICKS_WALL_WALL_SWEEP_H
#define ROWLOCK_BRICKS_WALL_WALL_SWEEP_H

#include "bricks/wall/wall_panel.h"

/* Lays every course for the first time, and marks them all. */
Status wall_sweep_first(WallPanel *w, Fault *fault);

/* Lays the courses that are marked, from the lowest up or from the highest down. */
Status wall_sweep(WallPanel *w, bool down, Fault *fault);

/* Lays one course against its neighbours, and marks those that may now be laid better. A course
 * that stands stays as it is. */
Status wall_sweep_lay(WallPanel *w, int row, Fault *fault);

/* What a course comes to: its bricks, those of them with a flaw (course_prices_flaw), its laps
 * below a quarter, and the joints in line over three courses of which it is the highest. */
Status wall_sweep_price(WallPanel *w, int row, long *price_out, Fault *fault);

#endif
