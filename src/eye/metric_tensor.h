/* Metric tensor: CIEDE2000 near a colour, as a quadratic form of opponent values.
 *
 * A search cannot afford the formula for each trial; near two colours that are not far
 * apart its square is d' G d with d the difference of their opponent values. G is the metric
 * tensor of the formula (Pant and Farup, Color Research & Application 37(6), 2012, from memory,
 * derive it by differentials). Lightness and chroma follow light by a cube root, so G is taken
 * along the chord between the two (exact for X, Y and Z apart where neither is nearly black) and
 * the formula's weights at their mean. */
#ifndef ROWLOCK_EYE_METRIC_TENSOR_H
#define ROWLOCK_EYE_METRIC_TENSOR_H

#include "colour/delta_e_quick.h"
#include "eye/opponent.h"

/* Pair by pair, opponent values by plane as eye_from_xyz gives them; both of a pair may be the
 * same. Item k of tensor i is in tensor_out[k][i]. count is a multiple of 8. */
void metric_tensor_rows(const Quick *quick, const float *const one[3], const float *const two[3],
                        int count, float *const tensor_out[OPPONENT_FORM]);

#endif
