/* Gaussian: blurs a plane of numbers. */
#ifndef ROWLOCK_LAYERS_GAUSSIAN_H
#define ROWLOCK_LAYERS_GAUSSIAN_H

#include "base/status.h"

/* Convolves plane, rows x columns, in place with a Gaussian of `sigma` points, cut off at
 * three sigma; 0 leaves it as it is. Beyond the border the outermost points go on. */
Status gaussian_blur(float *plane, int columns, int rows, double sigma, int threads, Fault *fault);

#endif
