/* Colour difference: CIEDE2000. */
#ifndef ROWLOCK_COLOUR_DELTA_E_H
#define ROWLOCK_COLOUR_DELTA_E_H

#include "colour/colour.h"

/* CIEDE2000 of ISO/CIE 11664-6 with kL = kC = kH = 1, the same both ways round to
 * within 1e-9. Not a metric, and it jumps where hues are 180 degrees apart. */
double delta_e_2000(Lab one, Lab two);

#endif
