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

typedef struct GuidedOptions {
    int radius;     /* cells from a window's centre to its side, at least 1 */
    double epsilon; /* variance of the guide below which it is taken for smooth, above 0 */
} GuidedOptions;

/* guide has 3 numbers a cell, input and out one; all columns x rows cells, and out is none
 * of the others. Work grows with the number of cells only, not with the radius. */
Status guided_filter(const GuidedOptions *options, const float *guide, const float *input,
                     int columns, int rows, int threads, float *out, Fault *fault);

#endif
