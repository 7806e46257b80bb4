/* Least squares: the coefficients of a linear model that fit many equations best. */
#ifndef ROWLOCK_CAMERA_LEAST_SQUARES_H
#define ROWLOCK_CAMERA_LEAST_SQUARES_H

#include <stdbool.h>

/* Fits `rows` equations in `columns` unknowns, rows >= columns >= 1, for each of `sides` right
 * sides at once. `a` is rows x columns, `b` rows x sides, both row by row and used up: afterwards
 * the first `columns` rows of b are the solutions, what is below them has the residuals' sum of
 * squares, and the upper triangle of a is the factor R of A = Q R. Equations are weighed by what
 * the caller multiplies them with. False where the columns do not stand apart.
 *
 * Source: Householder's reflections, Golub and Van Loan, Matrix Computations, 4th ed., 5.2 and
 * 5.3. */
bool least_squares(double *a, double *b, int rows, int columns, int sides);

/* x' (A' A)^-1 x, from the factor R that least_squares left in `a`: the variance of x' times the
 * solution, where each equation has variance 1. columns is at most LEAST_SQUARES_MOST. */
enum { LEAST_SQUARES_MOST = 32 };
double least_squares_variance(const double *a, int columns, const double *x);

#endif
