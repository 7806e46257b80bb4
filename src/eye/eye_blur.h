/* Eye blur: rows of a face as the eye blurs them, many samples at once in single
 * precision, for measures and views over millions of samples.
 *
 * Samples of one phase (see eye_axis.h) have the same taps, so they stand side by side:
 * a row is `runs` runs of samples, each `pitch` floats long, run r those of phase r. Where
 * samples are far apart the row is one run of them all. What follows a run's last sample
 * up to the pitch is some finite number. */
#ifndef ROWLOCK_EYE_EYE_BLUR_H
#define ROWLOCK_EYE_EYE_BLUR_H

#include "eye/eye_axis.h"

enum { EYE_BLOCK = 32 }; /* pitches are multiples of it */

typedef struct EyeRuns {
    int runs, samples; /* samples of each run */
    int pitch;
} EyeRuns;

EyeRuns eye_runs(const EyeAxis *x);

/* As eye_blur_row. out[p] has room for runs x pitch; scratch for eye_runs_scratch(x) floats. */
void eye_blur_runs(const EyeAxis *x, const EyeAxis *y, const float *const plane[EYE_PLANES],
                   int sample_row, float *scratch, float *const out[EYE_PLANES]);
size_t eye_runs_scratch(const EyeAxis *x);

#endif
