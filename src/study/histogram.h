/* Histogram: the colours of images as a few weighted samples. */
#ifndef ROWLOCK_STUDY_HISTOGRAM_H
#define ROWLOCK_STUDY_HISTOGRAM_H

#include "base/status.h"
#include "model/image.h"

typedef struct Histogram {
    int samples;
    Lab *lab;       /* mean, in linear light, of the cells that a sample stands for */
    double *weight; /* all together 1 */
} Histogram;

/* At most `most` samples: cells of a cube of CIELAB share one, and the cubes grow until
 * they are few enough. Every image weighs the same. */
Status histogram_init(Histogram *histogram_out, const Image *images, int count, int most,
                      Fault *fault);
void histogram_clear(Histogram *histogram);

#endif
