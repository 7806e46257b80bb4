/* The direct linear transform: each pair of points gives two linear equations in the nine elements
 * of the matrix. Points are first moved and scaled so that they lie around the origin at a distance
 * of the root of 2 in the mean square, without which the equations hang on the units of the two
 * planes. The solution is the eigenvector of the least eigenvalue of the equations' 9 x 9 normal
 * matrix, found by Jacobi's rotations; after the scaling its condition is that of a few hundred,
 * squared, and double precision has plenty left (tests/camera/test_homography has the error). */
#include "camera/homography.h"

#include <float.h>
#include <math.h>
#include <string.h>

enum { SIDE = 9 };

/* Below this part of the largest eigenvalue a second one is nothing, too: the points leave the
 * matrix open. */
#define NOTHING 1e-10

/* The least determinant, after the scaling, of a matrix of norm 1: below, the plane is seen from
 * its edge. A square seen at 35 degrees has some hundredths. */
#define EDGE_ON 1e-6

static const PlanePoint no_point = {HUGE_VAL, HUGE_VAL};

/* ---- normalising ---- */

typedef struct Scaling {
    double x, y, scale; /* (point - x, y) * scale */
} Scaling;

static bool scaling_of(Scaling *s, const PlanePoint *point, int count)
{
    *s = (Scaling){0};
    for (int i = 0; i < count; i++) {
        s->x += point[i].x / count;
        s->y += point[i].y / count;
    }
    double squares = 0;
    for (int i = 0; i < count; i++) {
        const double x = point[i].x - s->x, y = point[i].y - s->y;
        squares += (x * x + y * y) / count;
    }
    s->scale = sqrt(2.0 / squares);
    return isfinite(s->scale);
}

static PlanePoint scaled(const Scaling *s, PlanePoint p)
{
    return (PlanePoint){(p.x - s->x) * s->scale, (p.y - s->y) * s->scale};
}

/* out = a b, of 3 x 3. */
static void multiply(const double a[9], const double b[9], double out[9])
{
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            out[3 * i + j] = a[3 * i] * b[j] + a[3 * i + 1] * b[3 + j] + a[3 * i + 2] * b[6 + j];
}

/* ---- the eigenvector ---- */

static void add_outer(double matrix[SIDE][SIDE], const double row[SIDE])
{
    for (int i = 0; i < SIDE; i++)
        for (int j = 0; j < SIDE; j++) matrix[i][j] += row[i] * row[j];
}

/* Turns the axes p and q so that matrix[p][q] becomes 0. */
static void rotate(double matrix[SIDE][SIDE], double vectors[SIDE][SIDE], int p, int q)
{
    if (matrix[p][q] == 0) return;
    const double theta = (matrix[q][q] - matrix[p][p]) / (2 * matrix[p][q]);
    const double t = copysign(1.0, theta) / (fabs(theta) + hypot(theta, 1.0));
    const double c = 1 / hypot(t, 1.0), s = t * c;
    for (int k = 0; k < SIDE; k++) {
        const double a = matrix[k][p], b = matrix[k][q];
        matrix[k][p] = c * a - s * b;
        matrix[k][q] = s * a + c * b;
    }
    for (int k = 0; k < SIDE; k++) {
        const double a = matrix[p][k], b = matrix[q][k];
        matrix[p][k] = c * a - s * b;
        matrix[q][k] = s * a + c * b;
    }
    for (int k = 0; k < SIDE; k++) {
        const double a = vectors[k][p], b = vectors[k][q];
        vectors[k][p] = c * a - s * b;
        vectors[k][q] = s * a + c * b;
    }
}

/* Whether what is off the diagonal is nothing beside what is on it. */
static bool is_diagonal(double matrix[SIDE][SIDE])
{
    double on = 0, off = 0;
    for (int i = 0; i < SIDE; i++) {
        on += fabs(matrix[i][i]);
        for (int j = i + 1; j < SIDE; j++) off += fabs(matrix[i][j]);
    }
    return off <= DBL_EPSILON * DBL_EPSILON * on;
}

/* The eigenvector of the least eigenvalue; false where there are two such. */
static bool least_vector(double matrix[SIDE][SIDE], double vector_out[SIDE])
{
    enum { SWEEPS = 30 }; /* ten are enough for any matrix of this size, in practice */
    double vectors[SIDE][SIDE] = {{0}};
    for (int i = 0; i < SIDE; i++) vectors[i][i] = 1;
    for (int sweep = 0; sweep < SWEEPS && !is_diagonal(matrix); sweep++)
        for (int p = 0; p < SIDE; p++)
            for (int q = p + 1; q < SIDE; q++) rotate(matrix, vectors, p, q);
    int least = 0;
    double most = 0, second = DBL_MAX;
    for (int i = 0; i < SIDE; i++) {
        if (matrix[i][i] < matrix[least][least]) least = i;
        most = fmax(most, matrix[i][i]);
    }
    for (int i = 0; i < SIDE; i++)
        if (i != least) second = fmin(second, matrix[i][i]);
    for (int i = 0; i < SIDE; i++) vector_out[i] = vectors[i][least];
    return second > NOTHING * most;
}

/* ---- the homography ---- */

static double depth_at(const Homography *m, PlanePoint p)
{
    return m->h[6] * p.x + m->h[7] * p.y + m->h[8];
}

/* Whether all points lie on one side of the horizon. */
static bool in_front(const Homography *m, const PlanePoint *point, int count)
{
    int ahead = 0, behind = 0;
    for (int i = 0; i < count; i++) {
        const double depth = depth_at(m, point[i]);
        ahead += depth > 0;
        behind += depth < 0;
    }
    return ahead == count || behind == count;
}

static void add_pair(double matrix[SIDE][SIDE], PlanePoint a, PlanePoint b)
{
    add_outer(matrix, (double[SIDE]){a.x, a.y, 1, 0, 0, 0, -b.x * a.x, -b.x * a.y, -b.x});
    add_outer(matrix, (double[SIDE]){0, 0, 0, a.x, a.y, 1, -b.y * a.x, -b.y * a.y, -b.y});
}

static double determinant_of(const double h[9])
{
    return h[0] * (h[4] * h[8] - h[5] * h[7]) + h[1] * (h[5] * h[6] - h[3] * h[8]) +
           h[2] * (h[3] * h[7] - h[4] * h[6]);
}

bool homography_fit(Homography *out, const PlanePoint *from, const PlanePoint *to, int count)
{
    Scaling f, t;
    double matrix[SIDE][SIDE] = {{0}}, scaled_h[9], part[9];
    if (count < 4 || !scaling_of(&f, from, count) || !scaling_of(&t, to, count)) return false;
    for (int i = 0; i < count; i++) add_pair(matrix, scaled(&f, from[i]), scaled(&t, to[i]));
    if (!least_vector(matrix, scaled_h) || fabs(determinant_of(scaled_h)) < EDGE_ON) return false;
    const double normalise[9] = {f.scale, 0, -f.scale * f.x, 0, f.scale, -f.scale * f.y, 0, 0, 1};
    const double restore[9] = {1 / t.scale, 0, t.x, 0, 1 / t.scale, t.y, 0, 0, 1};
    multiply(scaled_h, normalise, part);
    multiply(restore, part, out->h);
    const double last = out->h[8];
    double most = 0;
    for (int i = 0; i < 9; i++) most = fmax(most, fabs(out->h[i]));
    for (int i = 0; i < 9; i++) out->h[i] /= fabs(last) > DBL_EPSILON * most ? last : most;
    return in_front(out, from, count);
}

PlanePoint homography_apply(const Homography *m, PlanePoint p)
{
    const double depth = depth_at(m, p);
    if (depth == 0) return no_point;
    return (PlanePoint){(m->h[0] * p.x + m->h[1] * p.y + m->h[2]) / depth,
                        (m->h[3] * p.x + m->h[4] * p.y + m->h[5]) / depth};
}

bool homography_invert(const Homography *m, Homography *out)
{
    const double *h = m->h;
    const double minor[9] = {
        h[4] * h[8] - h[5] * h[7], h[2] * h[7] - h[1] * h[8], h[1] * h[5] - h[2] * h[4],
        h[5] * h[6] - h[3] * h[8], h[0] * h[8] - h[2] * h[6], h[2] * h[3] - h[0] * h[5],
        h[3] * h[7] - h[4] * h[6], h[1] * h[6] - h[0] * h[7], h[0] * h[4] - h[1] * h[3]};
    const double determinant = determinant_of(h);
    if (!isfinite(1 / determinant)) return false;
    for (int i = 0; i < 9; i++) out->h[i] = minor[i] / determinant;
    return true;
}

/* ---- quadrilaterals ---- */

static double cross(PlanePoint a, PlanePoint b, PlanePoint c)
{
    return (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
}

bool quad_is_convex(const PlanePoint p[4])
{
    double longest = 0;
    int left = 0, right = 0;
    for (int i = 0; i < 4; i++)
        longest = fmax(longest, hypot(p[(i + 1) % 4].x - p[i].x, p[(i + 1) % 4].y - p[i].y));
    for (int i = 0; i < 4; i++) {
        const PlanePoint before = p[(i + 3) % 4], after = p[(i + 1) % 4];
        const double off =
            cross(before, p[i], after) / hypot(after.x - before.x, after.y - before.y);
        left += off > longest / 100;
        right += off < -longest / 100;
    }
    return left == 4 || right == 4;
}

double quad_area(const PlanePoint p[4])
{
    return (cross(p[0], p[1], p[2]) + cross(p[0], p[2], p[3])) / 2;
}
