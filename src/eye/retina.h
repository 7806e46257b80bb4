/* Retina: the difference between a face and its target as it reaches the eye, kept up
 * to date while single cells change.
 *
 * At each sample s the blurred difference e(s), three opponent values, is weighed by a
 * tensor G(s); the objective is the sum of e' G e over the samples. What a search asks
 * is answered from q = G e: if cell m changes by d, the objective changes by
 * 2 d' slope(m) + d' self(m) d, where slope is the sum of K(m,s) q(s), self the sum of
 * K G K, and K(m,s) what cell m gives to sample s. A change touches only the samples
 * that see its cell, so cells farther apart than retina_reach do not meet.
 *
 * The tensor is CIEDE2000's along the chord from the target to the face as they are when
 * retina_weigh is called, divided by twice that difference: then the objective has the
 * slope of the mean difference itself, not of its square, which is what a viewer
 * and the measure judge by. */
#ifndef ROWLOCK_EYE_RETINA_H
#define ROWLOCK_EYE_RETINA_H

#include "base/status.h"
#include "eye/eye.h"
#include "model/image.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct Retina Retina;

/* How close samples lie: rough ones tell faces apart in a third of the time. */
typedef enum Fineness { RETINA_ROUGH, RETINA_FINE } Fineness;

/* False where rough samples are as close as fine ones. */
bool retina_gains(const Viewpoint *viewpoint);

/* The target is copied. The face is the target itself until retina_show. */
Status retina_create(Retina **retina_out, const Image *target, const Viewpoint *viewpoint,
                     Fineness fineness, int threads, Fault *fault);
void retina_free(Retina *retina); /* NULL allowed */

/* The target's opponent values at a cell. */
void retina_target(const Retina *retina, size_t cell, double opponent_out[3]);

/* The face anew: cell i has the three values from opponent[3 colour[i]] on. */
void retina_show(Retina *retina, const uint8_t *colour, const float *opponent);

/* Weighs by the face shown last; differences well below `ease` count by their square. */
void retina_weigh(Retina *retina, double ease);

/* The objective of the face shown last, by the weights of retina_weigh; prepares
 * q for the search. */
double retina_settle(Retina *retina);

/* Cells this far apart along either axis, or farther, do not meet. */
int retina_reach(const Retina *retina);

/* One cell of the search. scratch has room for retina_scratch floats. */
typedef struct Spot {
    const float *kernel;
    size_t at; /* of its first sample */
} Spot;

size_t retina_scratch(const Retina *retina);
Spot retina_spot(const Retina *retina, int column, int row, float *scratch);
void retina_slope(const Retina *retina, const Spot *spot, double slope_out[3]);
void retina_self(const Retina *retina, const Spot *spot, double self_out[6]);

/* Changes the cell by d; returns what the objective changes by. */
double retina_shift(Retina *retina, const Spot *spot, const double d[3]);

/* How far the kernels of two cells, `columns` and `rows` apart, overlap, against one with
 * itself: by the pairs of planes 00 01 02 11 12 22, for equal weights everywhere. */
void retina_overlap(const Retina *retina, int columns, int rows, double overlap_out[6]);

#endif
