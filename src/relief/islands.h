/* Islands: closes what is too small to be built or seen in a map of steps.
 *
 * An island is a group of cells, joined by their sides, that stand at a level or higher
 * with all around them lower; a pit is the same upside down. Area opening and closing by
 * union-find over the cells in order of their level (Meijster and Wilkinson, IEEE TPAMI
 * 24(4):484-494, 2002, from memory), in time all but linear in the number of cells. */
#ifndef ROWLOCK_RELIEF_ISLANDS_H
#define ROWLOCK_RELIEF_ISLANDS_H

#include "base/status.h"

#include <stdint.h>

/* Lowers every island of fewer than `least` cells to the highest level at which it is part
 * of a larger one, then raises every pit in the same way. Neither undoes the other. Where
 * neighbours differed by n at most, they still do. */
Status islands_close(uint8_t *level, int columns, int rows, int least, Fault *fault);

#endif
