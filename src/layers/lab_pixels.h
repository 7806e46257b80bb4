/* Lab pixels: the colours that outlines are looked for in, and how they differ between neighbours.
 *
 * CIELAB of D50. Differences are Euclidean, CIE 1976 (ISO/CIE 11664-4): measured, a better
 * formula moves no outline. */
#ifndef ROWLOCK_LAYERS_LAB_PIXELS_H
#define ROWLOCK_LAYERS_LAB_PIXELS_H

#include "model/image.h"

/* Planes of rows x columns, row 0 at the bottom. */
typedef struct LabPixels {
    int columns, rows;
    float *memory; /* what the others point into */
    float *lab[3];
    float *right, *up; /* difference to the pixel on the right, and to the one a row further; 0 in
                          the last column or row */
    float *up_right, *up_left; /* the same by the corners */
} LabPixels;

static inline size_t lab_pixels_count(const LabPixels *pixels)
{
    return (size_t)pixels->columns * (size_t)pixels->rows;
}

/* Of an image, blurred by `sigma` pixels before differences are taken. */
Status lab_pixels_init(LabPixels *pixels_out, const Image *image, double sigma, int threads,
                       Fault *fault);

/* Of colours that are in the planes already: room for them, and then the differences. */
Status lab_pixels_reserve(LabPixels *pixels_out, int columns, int rows, Fault *fault);
void lab_pixels_compare(LabPixels *pixels, int threads);

/* Half as many each way, rounded up: the means of two by two. */
Status lab_pixels_halve(LabPixels *half_out, const LabPixels *pixels, int threads, Fault *fault);

void lab_pixels_clear(LabPixels *pixels);

#endif
