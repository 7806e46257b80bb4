/* Minimum degree: the order in which the bricks of a structure are eliminated, so that little fills
 * in. */
#ifndef ROWLOCK_CLUTCH_MINIMUM_DEGREE_H
#define ROWLOCK_CLUTCH_MINIMUM_DEGREE_H

#include "clutch/structure.h"

/* order_out[bricks]: the brick that is eliminated nth. Fault: no memory. */
Status minimum_degree_order(const Structure *structure, uint32_t *order_out, Fault *fault);

#endif
