/* Unrest: patches that the picture has not.
 *
 * A face can come near the picture in the mean and look worse: vivid bricks among pale ones
 * cancel out in a mean, but are seen. So both, as the eye sees them (eye.h), are looked at pair by
 * pair: unrest at k is the mean, over all samples k cells apart along a row or up a column, of how
 * much more they differ in the face than in the picture,
 *     max(0, d(face one, face other) - d(picture one, picture other)),   d = CIEDE2000.
 * Our own measure; tests/eye/test_unrest holds it against two that were published. Stripes two
 * cells wide are unseen at even distances, so that all of 1 to 4 are told. */
#ifndef ROWLOCK_EYE_UNREST_H
#define ROWLOCK_EYE_UNREST_H

#include "eye/eye.h"

enum { UNREST_CELLS = 4 }; /* cells apart, at most */

/* unrest_out[k - 1] is of pairs k cells apart; 0 where the face has none. Only the viewpoint and
 * the threads of the options count. The sides are of the same size. Fault: no memory. */
Status unrest_measure(const EyeSide *picture, const EyeSide *face, const EyeOptions *options,
                      double unrest_out[UNREST_CELLS], Fault *fault);

/* The same for images. */
Status unrest_compare(const Image *picture, const Image *face, const EyeOptions *options,
                      double unrest_out[UNREST_CELLS], Fault *fault);

#endif
