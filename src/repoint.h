/* Repoint: finds what is still wrong with a panel that is laid, and lays it anew there.
 *
 * Flaws are loose pieces, bricks that would part the panel if lost, and joints in line over
 * three courses. Each asks the courses around it, in their prices, to do better; the panel is
 * swept, surveyed again, and the best laying of all rounds stays. */
#ifndef ROWLOCK_REPOINT_H
#define ROWLOCK_REPOINT_H

#include "masonry.h"

Status repoint_panel(Masonry *masonry, int rounds, Fault *fault);

/* Some sweeps, down and up in turn. */
Status repoint_settle(Masonry *masonry, int sweeps, Fault *fault);

#endif
