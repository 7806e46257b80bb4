/* Bounds on CIEDE2000 between a colour and every colour of a region.
 *
 * Its square is a sum of two parts: Y(L)^2, that depends on lightness alone and is
 * simple, and P(a, b), that does not depend on lightness. P is bounded over rectangles
 * of a*, b* by interval arithmetic over the formula. */
#ifndef ROWLOCK_COLOUR_DELTA_E_BOUNDS_H
#define ROWLOCK_COLOUR_DELTA_E_BOUNDS_H

#include "colour/delta_e_quick.h"

typedef struct Rectangle {
    float a_least, a_most, b_least, b_most;
} Rectangle;

/* lo_out[i] <= delta_e_2000(x, colours[index[i]])^2 - Y^2 <= hi_out[i] for every x with
 * a*, b* in the rectangle, or within 1e-12 of it. Rounding is allowed for. For chroma up
 * to 250 and rectangles at least 0.01 wide and high. */
void bounds_plane(const Quick *quick, const Rectangle *rectangle, const QuickColour *colours,
                  const uint8_t index[QUICK_LANES], float lo_out[QUICK_LANES],
                  float hi_out[QUICK_LANES]);

/* Y = dL'/SL. While the two are at most 120 apart it rises with `two` and falls with
 * `one`: its derivative has the sign of SL -+ dL'/2 SL', and |SL'| < 0.0165. */
double bounds_lightness(double one, double two);

#endif
