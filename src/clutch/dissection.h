/* Dissection: the order in which the bricks of a structure are eliminated, so that little fills
 * in. */
#ifndef ROWLOCK_CLUTCH_DISSECTION_H
#define ROWLOCK_CLUTCH_DISSECTION_H

#include "clutch/structure.h"

/* order_out[bricks]: the brick that is eliminated nth. Fault: no memory. */
Status dissection_order(const Structure *structure, uint32_t *order_out, Fault *fault);

#endif
