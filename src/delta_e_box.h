/* Bounds on CIEDE2000 between one colour and every colour of a box of CIELAB.
 *
 * Interval arithmetic over the formula, with the parts that are monotone taken at
 * their ends and the chroma and hue terms tied together by
 * dC'^2 + dH'^2 = da'^2 + db^2. Where a hue cannot be told (the box holds the neutral
 * axis, or lies across the 180 degree fork) both ways round are covered. */
#ifndef ROWLOCK_DELTA_E_BOX_H
#define ROWLOCK_DELTA_E_BOX_H

#include "colour.h"

typedef struct LabBox {
    Lab least, most;
} LabBox;

typedef struct Span {
    double lo, hi;
} Span;

/* Holds the square of delta_e_2000(lab, colour) for every lab in the box, rounding
 * included. */
Span delta_e_box(const LabBox *box, Lab colour);

/* A lower bound on the same from lightness alone, for a quick no. */
double delta_e_box_lightness(const LabBox *box, Lab colour);

#endif
