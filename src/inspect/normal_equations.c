#include "inspect/normal_equations.h"

#include <math.h>
#include <string.h>

void normal_add(NormalEquations *n, const double *term, double value, double weight)
{
    for (int r = 0; r < n->unknowns; r++) {
        n->right[r] += weight * term[r] * value;
        for (int c = 0; c <= r; c++) n->matrix[r][c] += weight * term[r] * term[c];
    }
}

bool normal_solve(const NormalEquations *n, double damping, double *x)
{
    double m[NORMAL_MOST][NORMAL_MOST];
    memcpy(m, n->matrix, sizeof m);
    for (int r = 0; r < n->unknowns; r++) m[r][r] *= 1 + damping;
    for (int r = 0; r < n->unknowns; r++)
        for (int c = 0; c <= r; c++) {
            double sum = m[r][c];
            for (int k = 0; k < c; k++) sum -= m[r][k] * m[c][k];
            if (r == c && !(sum > 0)) return false;
            m[r][c] = r == c ? sqrt(sum) : sum / m[c][c];
        }
    for (int r = 0; r < n->unknowns; r++) {
        x[r] = n->right[r];
        for (int k = 0; k < r; k++) x[r] -= m[r][k] * x[k];
        x[r] /= m[r][r];
    }
    for (int r = n->unknowns - 1; r >= 0; r--) {
        for (int k = r + 1; k < n->unknowns; k++) x[r] -= m[k][r] * x[k];
        x[r] /= m[r][r];
    }
    return true;
}
