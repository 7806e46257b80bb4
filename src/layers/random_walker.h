/* Random walker: how surely each pixel belongs to each label.
 *
 * Of a walker that sets out from the pixel, and shies at differences of colour, the chance that
 * the first stroke it meets is the label's; on the way it may give up and take the label that
 * the pixel's colour looks like (Grady, IEEE TPAMI 28(11):1768-1783, 2006; with priors, Grady,
 * CVPR 2005, from memory). For each label l
 *     sum over the four neighbours q of w_pq (x_p - x_q) + g (x_p - P_l(p)) = 0,
 *     w_pq = exp(-difference^2 / (2 sigma^2)) + floor,  g = 1 / length^2,
 * x = 1 on the label's strokes and 0 on others'. */
#ifndef ROWLOCK_LAYERS_RANDOM_WALKER_H
#define ROWLOCK_LAYERS_RANDOM_WALKER_H

#include "base/voice.h"
#include "layers/lab_pixels.h"

#include <stdint.h>

typedef struct WalkerOptions {
    double sigma;     /* colour difference at which a walker shies; above 0 */
    double floor;     /* weight of the strongest edge, above 0 */
    double length;    /* pixels that a walker goes before it gives up; 0: it never does */
    double tolerance; /* of the equations, in chances */
} WalkerOptions;

/* Sigma from 1.5 to 4 gives the same outlines to 1.4 % of their area, tried on six pictures; a
 * length under 4 cells recolours pictures from a single stroke. The length is of 3 pixels a
 * cell. */
#define WALKER_OPTIONS_DEFAULT                                                                     \
    ((WalkerOptions){.sigma = 2.5, .floor = 0.001, .length = 13.5, .tolerance = 1e-3})

/* A picture with strokes on it. */
typedef struct StrokedPixels {
    const LabPixels *pixels;
    const uint8_t *stroke; /* a label for each pixel, or LABEL_NONE; some pixel has one */
    int labels;            /* 2 or more */
    int threads;           /* at least 1; never changes the result */
} StrokedPixels;

/* chance: labels - 1 planes of rows x columns, each a start on the way in and the label's
 * chances on the way out; the last label's are what is left to 1. */
Status random_walker(const WalkerOptions *options, const StrokedPixels *stroked, float *chance,
                     const Voice *voice, Fault *fault);

#endif
