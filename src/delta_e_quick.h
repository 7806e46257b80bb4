/* The square of CIEDE2000, some times faster than delta_e_2000 and not quite it:
 * to find out which few colours the exact formula must decide between.
 *
 * The hues are never worked out. The mean hue is the direction of the sum of the two
 * unit vectors, its multiples come from the addition theorems, and the one term that
 * needs an angle is read from a table. */
#ifndef ROWLOCK_DELTA_E_QUICK_H
#define ROWLOCK_DELTA_E_QUICK_H

#include "colour.h"

#include <stdbool.h>

enum { QUICK_TURNS = 2048 };

typedef struct Quick {
    /* sin(2 dtheta) of (16) and (21) for hues from 180 to 360, by x / (|x| + |y|). */
    float turn[QUICK_TURNS + 2];
} Quick;

/* A colour and its chroma. */
typedef struct QuickColour {
    double L, a, b, chroma;
} QuickColour;

void quick_init(Quick *quick);
QuickColour quick_colour(Lab lab);

/* With q the result and e the square of delta_e_2000: |q - e| <= quick_error(q).
 * Negative if the hues are so nearly 180 degrees apart that only the exact formula
 * can tell which way the mean goes. */
double quick_square(const Quick *quick, const QuickColour *one, const QuickColour *two);

/* The lightness term alone, never above quick_square + quick_error. */
double quick_lightness(const QuickColour *one, const QuickColour *two);

/* The turn is interpolated to 1e-5, and where the table is not used it is below 1e-6;
 * RT is at most twice that off, and |XZ| is below 3.8 times the square because
 * |RT| <= sqrt(3). Rounding is far below the constant. */
static inline double quick_error(double square) { return 1e-4 * square + 1e-7; }

#endif
