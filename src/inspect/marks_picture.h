/* Marks picture: the panel as photographed, seen squarely, with a mark on each brick that is not
 * seen to be right.
 *
 * Marks are shapes in white with a black rim, so that they are told apart without colours: a cross
 * on a wrong brick, a ring where one is missing, an arrow in the direction in which a brick is off,
 * three dots where the photograph does not tell. Every tenth row and column of the mural has a long
 * tick at the rim, every fifth a short one. */
#ifndef ROWLOCK_INSPECT_MARKS_PICTURE_H
#define ROWLOCK_INSPECT_MARKS_PICTURE_H

#include "inspect/inspection.h"
#include "output/paint.h"

Status marks_picture_write(const Inspection *inspection, const PaintPlace *place, Fault *fault);

#endif
