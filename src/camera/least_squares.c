/* Columns are first brought to one length, so that "do not stand apart" means angles and not
 * units. */
#include "camera/least_squares.h"

#include <assert.h>
#include <math.h>

/* A column of which less than this is left, beside the earlier ones, is one of theirs. */
#define NOTHING_LEFT 1e-9

/* Reflects column k and those after it so that below the diagonal column k is 0. False where
 * nothing is left of it. */
static bool reflect(double *a, double *b, int rows, int columns, int sides, int k)
{
    double squares = 0;
    for (int i = k; i < rows; i++) squares += a[i * columns + k] * a[i * columns + k];
    const double length = sqrt(squares);
    if (!(length > NOTHING_LEFT)) return false;
    const double to = a[k * columns + k] > 0 ? -length : length;
    a[k * columns + k] -= to; /* column k is the reflection's vector now */
    double norm = 0;
    for (int i = k; i < rows; i++) norm += a[i * columns + k] * a[i * columns + k];
    for (int j = k + 1; j < columns + sides; j++) {
        double *x = j < columns ? a + j : b + j - columns;
        const int stride = j < columns ? columns : sides;
        double dot = 0;
        for (int i = k; i < rows; i++) dot += a[i * columns + k] * x[i * stride];
        for (int i = k; i < rows; i++) x[i * stride] -= 2 * dot / norm * a[i * columns + k];
    }
    a[k * columns + k] = to;
    return true;
}

static bool scale_columns(double *a, int rows, int columns, double *length_out)
{
    for (int j = 0; j < columns; j++) {
        double squares = 0;
        for (int i = 0; i < rows; i++) squares += a[i * columns + j] * a[i * columns + j];
        length_out[j] = sqrt(squares);
        if (!(length_out[j] > 0) || !isfinite(length_out[j])) return false;
        for (int i = 0; i < rows; i++) a[i * columns + j] /= length_out[j];
    }
    return true;
}

bool least_squares(double *a, double *b, int rows, int columns, int sides)
{
    double length[LEAST_SQUARES_MOST];
    assert(columns >= 1 && columns <= LEAST_SQUARES_MOST);
    if (rows < columns || !scale_columns(a, rows, columns, length)) return false;
    for (int k = 0; k < columns; k++)
        if (!reflect(a, b, rows, columns, sides, k)) return false;
    for (int s = 0; s < sides; s++)
        for (int i = columns - 1; i >= 0; i--) {
            double sum = b[i * sides + s];
            for (int j = i + 1; j < columns; j++) sum -= a[i * columns + j] * b[j * sides + s];
            b[i * sides + s] = sum / a[i * columns + i];
        }
    for (int i = 0; i < columns; i++)
        for (int s = 0; s < sides; s++) b[i * sides + s] /= length[i];
    for (int i = 0; i < columns; i++)
        for (int j = i; j < columns; j++) a[i * columns + j] *= length[j];
    return true;
}

double least_squares_variance(const double *a, int columns, const double *x)
{
    double y[LEAST_SQUARES_MOST], sum = 0; /* R' y = x */
    for (int i = 0; i < columns; i++) {
        y[i] = x[i];
        for (int j = 0; j < i; j++) y[i] -= a[j * columns + i] * y[j];
        y[i] /= a[i * columns + i];
        sum += y[i] * y[i];
    }
    return sum;
}
