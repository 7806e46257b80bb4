/* Minimum degree: the order in which the bricks of a structure are eliminated, so that little fills
 * in. */
#ifndef ROWLOCK_CLUTCH_MINIMUM_DEGREE_H
#define ROWLOCK_CLUTCH_MINIMUM_DEGREE_H

#include "base/voice.h"
#include "clutch/structure.h"

/* order_out[bricks]: the brick that is eliminated nth. Faults: no memory; the voice was stopped,
 * which is asked at each brick, since the time grows with their square. */
Status minimum_degree_order(const Structure *structure, uint32_t *order_out, const Voice *voice,
                            Fault *fault);

#endif
