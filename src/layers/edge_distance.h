/* Edge distance: how far each cell of a region lies from what is not of it. */
#ifndef ROWLOCK_LAYERS_EDGE_DISTANCE_H
#define ROWLOCK_LAYERS_EDGE_DISTANCE_H

#include "base/status.h"

#include <stdint.h>

/* distance_out: for each cell the Euclidean distance of its centre to the nearest centre of a
 * cell where `inside` is 0, in cells; 0 there, and INFINITY if there is none. Beyond the border
 * counts as inside. Exact: Felzenszwalb and Huttenlocher, Theory of Computing 8:415-428, 2012,
 * from memory. */
Status edge_distance(const uint8_t *inside, int columns, int rows, float *distance_out,
                     Fault *fault);

#endif
