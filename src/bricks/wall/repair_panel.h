/* Repair panel: finds what is still wrong with a panel that is laid, and lays it anew there.
 *
 * Flaws are loose pieces, bricks that would part the panel if lost, and joints in line over
 * three courses. Each asks the courses around it, in their prices, to do better; the panel is
 * swept, surveyed again, and the best laying of all rounds stays. */
#ifndef ROWLOCK_BRICKS_WALL_REPAIR_PANEL_H
#define ROWLOCK_BRICKS_WALL_REPAIR_PANEL_H

#include "bricks/wall/wall_panel.h"

Status repair_panel(WallPanel *masonry, int rounds, Fault *fault);

/* Some sweeps, down and up in turn. */
Status repair_panel_settle(WallPanel *masonry, int sweeps, Fault *fault);

#endif
