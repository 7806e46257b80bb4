/* Wall local search: looks for a cheaper laying of a panel beyond what sweeps find. */
#ifndef ROWLOCK_BRICKS_WALL_WALL_LOCAL_SEARCH_H
#define ROWLOCK_BRICKS_WALL_WALL_LOCAL_SEARCH_H

#include "bricks/wall/wall_panel.h"

/* Goes `rounds` times through the courses of a panel. */
Status wall_local_search(WallPanel *w, int rounds, Fault *fault);

#endif
