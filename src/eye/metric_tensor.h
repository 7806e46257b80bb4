/* Metric tensor: CIEDE2000 near a colour, as a quadratic form of opponent values.
 *
 * A search cannot afford the formula for each trial; near two colours that are not far
 * apart its square is d' G d with d the difference of their opponent values. G is the metric
 * tensor of the formula (Pant and Farup, Color Research & Application 37(6), 2012, from memory,
 * derive it by differentials). Lightness and chroma follow light by a cube root, so G is taken
 * along the chord between the two (exact for X, Y and Z apart) and the formula's weights at their
 * mean. */
#ifndef ROWLOCK_EYE_METRIC_TENSOR_H
#define ROWLOCK_EYE_METRIC_TENSOR_H

#include "eye/opponent.h"

typedef struct MetricTensor {
    double g[OPPONENT_FORM];
} MetricTensor;

/* Opponent values as eye_from_xyz gives them; one and two may be the same. */
MetricTensor metric_tensor_between(const double one[3], const double two[3]);

/* d' G d, the square of the difference. */
static inline double metric_tensor_square(const MetricTensor *t, const double d[3])
{
    const double *g = t->g;
    return g[0] * d[0] * d[0] + g[3] * d[1] * d[1] + g[5] * d[2] * d[2] +
           2.0 * (g[1] * d[0] * d[1] + g[2] * d[0] * d[2] + g[4] * d[1] * d[2]);
}

#endif
