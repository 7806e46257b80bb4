/* Five point: linear equations on a grid in which each point is tied to its four neighbours.
 *
 * For every point p that is free
 *     sum over its neighbours q of w_pq (x_p - x_q) + pull x_p = b_p,
 * and x_p is given where p is fixed. Nothing flows through the grid's border. The matrix is
 * symmetric and, with a pull above 0 or a fixed point within reach of every free one, positive
 * definite. One such system serves any number of right sides. */
#ifndef ROWLOCK_LAYERS_FIVE_POINT_H
#define ROWLOCK_LAYERS_FIVE_POINT_H

#include "base/status.h"
#include "base/voice.h"

#include <stddef.h>
#include <stdint.h>

/* What the equations are made from; all borrowed for as long as the system. */
typedef struct FivePointTerms {
    int columns, rows;
    const float *right;   /* rows x columns: weight of the tie to the point on the right, above
                             0; NULL: 1 everywhere. The last column's is not read. */
    const float *up;      /* the same to the point a row further; the last row's is not read */
    const uint8_t *fixed; /* rows x columns, 1 where x is given; NULL: nowhere */
    double pull;          /* 0 or more */
} FivePointTerms;

typedef struct FivePoint {
    FivePointTerms terms;
    size_t stride; /* floats from a row to the next */
    float *memory; /* what the others point into */
    /* Planes of one colour each, see five_point.c. */
    float *black_scale, *red_scale;  /* one over the root of the diagonal; 0 where fixed */
    float *left, *right, *down, *up; /* ties of black points, scaled on both sides; 0 to what is
                                        fixed */
} FivePoint;

Status five_point_init(FivePoint *system_out, const FivePointTerms *terms, Fault *fault);
void five_point_clear(FivePoint *system);

/* Conjugate gradients from the x at hand, with the diagonal as preconditioner, until no
 * residual over its diagonal is `tolerance` or more. right_side and x: rows x columns;
 * right_side NULL: 0. The work is one thread's; sums run over each row and then over the rows
 * in order. Several right sides of a system may be solved side by side.
 * Faults: memory, stopped from outside. */
Status five_point_solve(const FivePoint *system, const float *right_side, double tolerance,
                        float *x, const Voice *voice, Fault *fault);

#endif
