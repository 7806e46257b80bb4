/* Lab and colour differences four at once, for measures over millions of samples. */
#ifndef ROWLOCK_LAB_FOUR_H
#define ROWLOCK_LAB_FOUR_H

#include "delta_e_quick.h"

/* lab_from_xyz for four colours, in single precision: to 1e-4 of L, 1e-3 of a and b for
 * XYZ to 2. */
QuickFour lab_four(Four x, Four y, Four z);

/* The same for four colours of an image's row, x y z and so on; of the last one for those
 * beyond the `left` that there are, at least 1. */
QuickFour lab_four_from(const float *xyz, int left);

/* CIEDE2000 of four pairs from quick_square_four, each within what quick_error leaves of
 * its root; by the exact formula where that cannot tell. */
Four lab_four_difference(const Quick *quick, const QuickFour *one, const QuickFour *two);

#endif
