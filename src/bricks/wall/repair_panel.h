/* Repair panel: finds what is still wrong with a panel that is laid, and lays it anew there. */
#ifndef ROWLOCK_BRICKS_WALL_REPAIR_PANEL_H
#define ROWLOCK_BRICKS_WALL_REPAIR_PANEL_H

#include "bricks/wall/wall_panel.h"

/* In so many rounds at most. */
Status repair_panel(WallPanel *w, int rounds, Fault *fault);

/* Some sweeps, down and up in turn. */
Status repair_panel_settle(WallPanel *w, int sweeps, Fault *fault);

#endif
