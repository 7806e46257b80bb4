/* Normal equations: least squares in a few unknowns. */
#ifndef ROWLOCK_INSPECT_NORMAL_EQUATIONS_H
#define ROWLOCK_INSPECT_NORMAL_EQUATIONS_H

#include <stdbool.h>

enum { NORMAL_MOST = 10 };

typedef struct NormalEquations {
    int unknowns;
    double matrix[NORMAL_MOST][NORMAL_MOST]; /* its lower half */
    double right[NORMAL_MOST];
} NormalEquations;

/* Adds an equation, terms times unknowns = value. */
void normal_add(NormalEquations *normal, const double *term, double value, double weight);

/* By Cholesky's way, with `damping` times the diagonal added to it, so that what nothing tells
 * stays near 0. False where the matrix is not positive even so. */
bool normal_solve(const NormalEquations *normal, double damping, double *unknown_out);

#endif
