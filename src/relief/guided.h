/* Guided: smooths numbers so that their steps fall on a picture's colour edges.
 *
 * The guided filter of He, Sun and Tang (ECCV 2010, doi:10.1007/978-3-642-15549-9_1; IEEE
 * TPAMI 35(6):1397-1409, 2013) with a colour guide: within each square window the output
 * is the guide times a vector, plus a constant, by least squares with `epsilon` as the
 * price of a long vector; each cell takes the mean of the windows it lies in. Windows are
 * cut at the edge of the picture. */
#ifndef ROWLOCK_RELIEF_GUIDED_H
#define ROWLOCK_RELIEF_GUIDED_H

#include "base/status.h"
#include "base/voice.h"

typedef struct GuidedOptions {
    int radius;         /* cells from a window's centre to its side, at least 1 */
    double epsilon;     /* variance of the guide below which it is taken for smooth, above 0 */
    int threads;        /* at least 1; never changes the result */
    const Voice *voice; /* where it wants to stop, rows are left out; NULL: it never does */
} GuidedOptions;

/* What is smoothed, and what guides it. */
typedef struct GuidedInput {
    int columns, rows;  /* cells, at least 1 */
    const float *guide; /* three numbers a cell, interleaved, row by row */
    const float *input; /* one number a cell, row by row */
} GuidedInput;

/* out has one number a cell and is none of the inputs. Work grows with the number of cells
 * only, not with the radius. Fault: no memory. */
Status guided_filter(const GuidedOptions *options, const GuidedInput *input, float *out,
                     Fault *fault);

#endif
