/* Lab row: Lab and colour differences of whole rows in single precision, for measures over
 * millions of samples. */
#ifndef ROWLOCK_COLOUR_LAB_ROW_H
#define ROWLOCK_COLOUR_LAB_ROW_H

#include "colour/delta_e_quick.h"

enum { LAB_LANES = 8 }; /* rows have a multiple of it */

typedef struct LabRow {
    float *L, *a, *b;
} LabRow;

/* Lab of XYZ = matrix x plane, to 1e-4 of L and 1e-3 of a and b for coordinates to 2. */
void lab_row(const double matrix[3][3], const float *const plane[3], int count, const LabRow *out);

/* The same of `columns` samples as images have them, three coordinates each, without a matrix. The
 * planes are scratch of `count` floats; what lies in them beyond the samples is turned, too. */
void lab_row_of_samples(const float *xyz, int columns, float *const plane[3], int count,
                        const LabRow *out);

/* CIEDE2000 pair by pair, from quick_square_rows; by the exact formula where that cannot
 * tell. */
void lab_row_differences(const Quick *quick, const LabRow *one, const LabRow *two, int count,
                         float *difference_out);

#endif
