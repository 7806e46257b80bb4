/* Wall local search: looks for a cheaper laying of a panel beyond what sweeps find.
 *
 * Sweeps stop where no single course can do better. Here one course is laid at other prices,
 * crossing more or fewer of the joints that colours force, its neighbours are laid to suit it,
 * and it to suit them; the three stay if the panel has become cheaper. */
#ifndef ROWLOCK_BRICKS_WALL_WALL_LOCAL_SEARCH_H
#define ROWLOCK_BRICKS_WALL_WALL_LOCAL_SEARCH_H

#include "bricks/wall/wall_panel.h"

/* Goes `rounds` times through the courses of a flat panel. */
Status wall_local_search(WallPanel *masonry, int rounds, Fault *fault);

#endif
