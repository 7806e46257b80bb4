/* The square of CIEDE2000 for four or eight colours at once, in single precision: to find out
 * which few colours the exact formula must decide between.
 *
 * The hues are never worked out. The mean hue is the direction of the sum of the two
 * unit vectors, its multiples come from the addition theorems, and the one term that
 * needs an angle is read from a table (quick_table.h). */
#ifndef ROWLOCK_COLOUR_DELTA_E_QUICK_H
#define ROWLOCK_COLOUR_DELTA_E_QUICK_H

#include "base/simd4.h"
#include "colour/colour.h"
#include "colour/quick_table.h"

#include <stdint.h>

enum { QUICK_LANES = 4 };

/* A colour and its chroma. */
typedef struct QuickColour {
    float L, a, b, chroma;
} QuickColour;

QuickColour quick_colour(Lab lab);

/* square_out[i] is for colours[index[i]]; with e the square of delta_e_2000 for the
 * same pair, |square_out[i] - e| <= quick_error(square_out[i]), or square_out[i] is
 * negative: the hues are so nearly 180 degrees apart that only the exact formula can
 * tell which way the mean goes, but e is at least -square_out[i],
 * but for rounding. For chroma up to 250. */
void quick_squares(const Quick *quick, const QuickColour *asked, const QuickColour *colours,
                   const uint8_t index[QUICK_LANES], float square_out[QUICK_LANES]);

/* The same for rows of L, a and b, pair by pair; count is a multiple of 8. */
void quick_square_rows(const Quick *quick, const float *const one[3], const float *const two[3],
                       int count, float *square_out);

/* What can be off: the turn by 1e-5 between entries of the table (and below 1e-6 where
 * it is taken as 0), which is less than 1e-4 of the square since |XZ| <= 3.8 of it for
 * |RT| <= sqrt(3); and some twenty roundings of 2^-24 of coordinates up to 250, which
 * the subtractions turn into up to 1e-4 of X and Z. The constants leave a factor of
 * several. */
static inline float quick_error(float square) { return 5e-4f * square + 1e-3f; }

#endif
