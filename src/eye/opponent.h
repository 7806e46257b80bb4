/* Opponent: arithmetic of opponent values, the three numbers that a colour is to the eye (eye.h:
 * luminance, red-green, blue-yellow), and of quadratic forms over them. A form is a symmetric
 * matrix, of which the six numbers 00 01 02 11 12 22 are kept. */
#ifndef ROWLOCK_EYE_OPPONENT_H
#define ROWLOCK_EYE_OPPONENT_H

enum { OPPONENT_FORM = 6 };

static inline double opponent_dot(const double a[3], const double b[3])
{
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

/* out = m v. */
static inline void opponent_form_times(const double m[OPPONENT_FORM], const double v[3],
                                       double out[3])
{
    out[0] = m[0] * v[0] + m[1] * v[1] + m[2] * v[2];
    out[1] = m[1] * v[0] + m[3] * v[1] + m[4] * v[2];
    out[2] = m[2] * v[0] + m[4] * v[1] + m[5] * v[2];
}

#endif
