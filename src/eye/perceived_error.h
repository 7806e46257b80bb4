/* Perceived error: the difference between a face and its target as it reaches the eye, kept up
 * to date while single cells change.
 *
 * At each sample s the blurred difference e(s), three opponent values, is weighed by a
 * metric tensor G(s); its part of a search's objective is the sum of e' G e over the samples. What
 * a search asks is answered from q = G e: if cell m changes by d, that sum changes by
 * 2 d' gradient(m) + d' curvature(m) d, where gradient is the sum of K(m,s) q(s), half of the
 * derivative, curvature the sum of K G K, and K(m,s) what cell m gives to sample s. A change
 * touches only the samples that see its cell, so cells farther apart than perceived_error_reach
 * do not meet.
 *
 * The tensor is CIEDE2000's along the chord from the target to the face as they are when
 * perceived_error_linearise is called, divided by twice that difference: then the sum has the
 * slope of the mean difference itself, not of its square, which is what a viewer and the measure
 * judge by. */
#ifndef ROWLOCK_EYE_PERCEIVED_ERROR_H
#define ROWLOCK_EYE_PERCEIVED_ERROR_H

#include "base/status.h"
#include "base/voice.h"
#include "eye/eye.h"
#include "eye/opponent.h"
#include "model/image.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct PerceivedError PerceivedError;

/* How close samples lie: coarse ones tell faces apart in a third of the time. */
typedef enum SampleDensity { SAMPLES_COARSE, SAMPLES_FINE } SampleDensity;

/* False where coarse samples are as close as fine ones. */
bool perceived_error_has_finer(const Viewpoint *viewpoint);

typedef struct PerceivedErrorOptions {
    SampleDensity density;
    int threads;
    /* Who may stop what takes long, borrowed; what is stopped is done in part. NULL: nobody. */
    const Voice *voice;
} PerceivedErrorOptions;

/* The target is copied. The face is the target itself until perceived_error_show. */
Status perceived_error_create(PerceivedError **error_out, const Image *target,
                              const Viewpoint *viewpoint, const PerceivedErrorOptions *options,
                              Fault *fault);
void perceived_error_free(PerceivedError *error); /* NULL allowed */

/* From the next linearisation on, what each sample sees counts times the mean factor of the cells
 * that it stands for. care: one a cell, borrowed. */
void perceived_error_weigh(PerceivedError *error, const float *care);

/* The target's opponent values at a cell. */
void perceived_error_target(const PerceivedError *error, size_t cell, double opponent_out[3]);

/* The face anew: cell i has the three values from opponent[3 colour[i]] on. */
void perceived_error_show(PerceivedError *error, const uint8_t *colour, const float *opponent);

/* Takes the tensors at the face shown last. Differences well below `softening`, above 0 and in
 * CIEDE2000, count by their square. */
void perceived_error_linearise(PerceivedError *error, double softening);

/* The sum for the face shown last, by the tensors in force; brings q up to date. */
double perceived_error_evaluate(PerceivedError *error);

/* Cells this far apart along either axis, or farther, do not meet. */
int perceived_error_reach(const PerceivedError *error);

/* The samples that see a cell, and how much. scratch has room for perceived_error_scratch floats
 * and is used near the edges of the face. */
typedef struct Footprint {
    const float *kernel; /* planes x rows x columns of samples */
    size_t at;           /* of its first sample */
} Footprint;

size_t perceived_error_scratch(const PerceivedError *error);
Footprint perceived_error_footprint(const PerceivedError *error, int column, int row,
                                    float *scratch);
void perceived_error_gradient(const PerceivedError *error, const Footprint *footprint,
                              double gradient_out[3]);
void perceived_error_curvature(const PerceivedError *error, const Footprint *footprint,
                               double curvature_out[OPPONENT_FORM]);

/* Changes the cell by d; returns what the sum changes by. */
double perceived_error_shift(PerceivedError *error, const Footprint *footprint, const double d[3]);

/* How far the kernels of two cells, `columns` and `rows` apart, overlap, against one with
 * itself: by the pairs of planes 00 01 02 11 12 22, for equal weights everywhere. */
void perceived_error_overlap(const PerceivedError *error, int columns, int rows,
                             double overlap_out[OPPONENT_FORM]);

#endif
