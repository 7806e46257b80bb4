/* The unknowns are scaled by the root of the diagonal, which makes the diagonal 1: the
 * preconditioner costs nothing then, and a step of conjugate gradients (Hestenes and Stiefel,
 * J. Research NBS 49(6):409-436, 1952, from memory) reads nine rows and writes four. Rows have a
 * margin of zeros that stands for what lies outside. A fixed point is one that is tied to
 * nothing and has no residual; what it lends its neighbours is part of the first residual.
 *
 * Sums are of floats within eight lanes of a row and of doubles beyond. */
#include "layers/five_point.h"

#include "base/memory.h"
#include "base/simd8.h"

#include <assert.h>
#include <math.h>
#include <stdbool.h>

/* Rounding keeps single precision from a tolerance that is too fine; then this many end it.
 * With a pull it is never come near: the condition is 1 + 8 w / pull at most. */
enum { ITERATIONS_MOST = 20000 };

/* ---- the system ---- */

static size_t padded(int columns) { return ((size_t)columns + SIMD8 - 1) / SIMD8 * SIMD8 + SIMD8; }

/* Floats of a plane: a row of zeros below and above, and one lane before the first. */
static size_t plane_size(const FivePoint *s)
{
    return s->stride * ((size_t)s->terms.rows + 2) + SIMD8;
}

/* Where row 0 begins. */
static size_t plane_start(const FivePoint *s) { return s->stride + SIMD8; }

static bool is_free(const FivePointTerms *t, size_t point) { return !t->fixed || !t->fixed[point]; }

static double weight_right(const FivePointTerms *t, size_t point)
{
    return t->right ? (double)t->right[point] : 1;
}

static double weight_up(const FivePointTerms *t, size_t point)
{
    return t->up ? (double)t->up[point] : 1;
}

/* The four ties of a point, and the points at their other ends; how many there are. */
static int ties_of(const FivePointTerms *t, int column, int row, double weight[4], size_t other[4])
{
    const size_t width = (size_t)t->columns, p = (size_t)row * width + (size_t)column;
    int n = 0;
    if (column > 0) weight[n] = weight_right(t, p - 1), other[n++] = p - 1;
    if (column + 1 < t->columns) weight[n] = weight_right(t, p), other[n++] = p + 1;
    if (row > 0) weight[n] = weight_up(t, p - width), other[n++] = p - width;
    if (row + 1 < t->rows) weight[n] = weight_up(t, p), other[n++] = p + width;
    return n;
}

static void scale_row(FivePoint *s, int row)
{
    const FivePointTerms *t = &s->terms;
    float *scale = s->scale + (size_t)row * s->stride;
    for (int column = 0; column < t->columns; column++) {
        double weight[4], diagonal = t->pull;
        size_t other[4];
        for (int n = ties_of(t, column, row, weight, other); n-- > 0;) diagonal += weight[n];
        const bool is = is_free(t, (size_t)row * (size_t)t->columns + (size_t)column);
        scale[column] = is && diagonal > 0 ? (float)(1 / sqrt(diagonal)) : 0;
    }
}

static void tie_row(FivePoint *s, int row)
{
    const FivePointTerms *t = &s->terms;
    const size_t at = (size_t)row * s->stride, from = (size_t)row * (size_t)t->columns;
    for (int i = 0; i < t->columns; i++) {
        const size_t p = at + (size_t)i, q = from + (size_t)i;
        s->right[p] = (float)(weight_right(t, q) * (double)s->scale[p] * (double)s->scale[p + 1]);
        if (row + 1 < t->rows)
            s->up[p] =
                (float)(weight_up(t, q) * (double)s->scale[p] * (double)s->scale[p + s->stride]);
    }
}

Status five_point_init(FivePoint *s, const FivePointTerms *terms, Fault *fault)
{
    *s = (FivePoint){.terms = *terms, .stride = padded(terms->columns)};
    const size_t size = plane_size(s);
    s->memory = memory_create(3 * size, sizeof *s->memory);
    if (!s->memory) return memory_fault(fault, 3 * size, sizeof *s->memory);
    s->scale = s->memory + plane_start(s);
    s->right = s->scale + size;
    s->up = s->right + size;
    for (int row = 0; row < terms->rows; row++) scale_row(s, row);
    for (int row = 0; row < terms->rows; row++) tie_row(s, row);
    return STATUS_OK;
}

void five_point_clear(FivePoint *s)
{
    memory_free(s->memory);
    *s = (FivePoint){0};
}

/* ---- conjugate gradients ---- */

/* Planes in scaled unknowns. */
typedef struct Gradients {
    const FivePoint *system;
    float *memory;
    float *change;    /* of x so far */
    float *residual;  /* what the change leaves */
    float *direction; /* of the next step */
    float *image;     /* the matrix times the direction */
} Gradients;

/* Sums that a row gives. */
typedef struct RowSum {
    double dot;  /* of a product */
    float worst; /* residual over its diagonal */
} RowSum;

static double sum_lanes(const float lane[SIMD8])
{
    double sum = 0;
    for (int i = 0; i < SIMD8; i++) sum += (double)lane[i];
    return sum;
}

/* direction = residual + keep * direction, over one row. */
WIDE static void turn_row(const float *residual, float keep, float *direction, size_t count)
{
    for (size_t i = 0; i < count; i += SIMD8)
        simd8_put(direction + i, simd8_at(residual + i) + simd8(keep) * simd8_at(direction + i));
}

/* image = matrix * direction over one row; direction . image. */
WIDE static double apply_row(const float *direction, const float *right, const float *up,
                             size_t stride, float *image, size_t count)
{
    Simd8 sum = simd8(0.0f);
    for (size_t i = 0; i < count; i += SIMD8) {
        const float *p = direction + i, *r = right + i, *u = up + i;
        const Simd8 across = simd8_at(r) * simd8_at(p + 1) + simd8_at(r - 1) * simd8_at(p - 1);
        const Simd8 along =
            simd8_at(u) * simd8_at(p + stride) + simd8_at(u - stride) * simd8_at(p - stride);
        const Simd8 product = simd8_at(p) - (across + along);
        simd8_put(image + i, product);
        sum += simd8_at(p) * product;
    }
    float lane[SIMD8];
    simd8_put(lane, sum);
    return sum_lanes(lane);
}

/* A step of the given length along the direction, over one row that begins at `at`. */
WIDE static RowSum step_row(const Gradients *g, size_t at, size_t count, float length)
{
    const float *direction = g->direction + at, *image = g->image + at;
    const float *scale = g->system->scale + at;
    float *change = g->change + at, *residual = g->residual + at;
    Simd8 sum = simd8(0.0f), worst = simd8(0.0f);
    for (size_t i = 0; i < count; i += SIMD8) {
        const Simd8 left = simd8_at(residual + i) - simd8(length) * simd8_at(image + i);
        simd8_put(change + i, simd8_at(change + i) + simd8(length) * simd8_at(direction + i));
        simd8_put(residual + i, left);
        sum += left * left;
        const Simd8 size = simd8_size(left * simd8_at(scale + i));
        worst = simd8_either(size > worst, size, worst);
    }
    float lane[SIMD8], most[SIMD8];
    simd8_put(lane, sum);
    simd8_put(most, worst);
    RowSum row = {sum_lanes(lane), 0};
    for (int i = 0; i < SIMD8; i++) row.worst = fmaxf(row.worst, most[i]);
    return row;
}

static size_t row_length(const FivePoint *s) { return s->stride - SIMD8; }

/* Turns the direction and applies the matrix to it, a row behind; direction . image. */
static double turn_and_apply(Gradients *g, float keep)
{
    const FivePoint *s = g->system;
    const int rows = s->terms.rows;
    double dot = 0;
    for (int row = 0; row <= rows; row++) {
        const size_t at = (size_t)row * s->stride;
        if (row < rows) turn_row(g->residual + at, keep, g->direction + at, row_length(s));
        if (row == 0) continue;
        const size_t behind = at - s->stride;
        dot += apply_row(g->direction + behind, s->right + behind, s->up + behind, s->stride,
                         g->image + behind, row_length(s));
    }
    return dot;
}

static RowSum take_step(Gradients *g, float length)
{
    const FivePoint *s = g->system;
    RowSum all = {0, 0};
    for (int row = 0; row < s->terms.rows; row++) {
        const RowSum one = step_row(g, (size_t)row * s->stride, row_length(s), length);
        all.dot += one.dot;
        all.worst = fmaxf(all.worst, one.worst);
    }
    return all;
}

/* The residual of x, scaled. */
static void first_residual(Gradients *g, const float *right_side, const float *x)
{
    const FivePoint *s = g->system;
    const FivePointTerms *t = &s->terms;
    for (int row = 0; row < t->rows; row++)
        for (int column = 0; column < t->columns; column++) {
            const size_t at = (size_t)row * s->stride + (size_t)column;
            const size_t p = (size_t)row * (size_t)t->columns + (size_t)column;
            double weight[4], sum = right_side ? (double)right_side[p] : 0;
            size_t other[4];
            if (!(s->scale[at] > 0)) continue;
            for (int n = ties_of(t, column, row, weight, other); n-- > 0;)
                sum -= weight[n] * ((double)x[p] - (double)x[other[n]]);
            g->residual[at] = (float)((double)s->scale[at] * (sum - t->pull * (double)x[p]));
        }
}

static Status gradients_init(Gradients *g, const FivePoint *s, Fault *fault)
{
    const size_t size = plane_size(s);
    *g = (Gradients){.system = s, .memory = memory_create(4 * size, sizeof(float))};
    if (!g->memory) return memory_fault(fault, 4 * size, sizeof(float));
    g->change = g->memory + plane_start(s);
    g->residual = g->change + size;
    g->direction = g->residual + size;
    g->image = g->direction + size;
    return STATUS_OK;
}

static void add_change(const Gradients *g, float *x)
{
    const FivePoint *s = g->system;
    for (int row = 0; row < s->terms.rows; row++)
        for (int column = 0; column < s->terms.columns; column++) {
            const size_t at = (size_t)row * s->stride + (size_t)column;
            *x++ += s->scale[at] * g->change[at];
        }
}

Status five_point_solve(const FivePoint *s, const float *right_side, double tolerance, float *x,
                        const Voice *voice, Fault *fault)
{
    Gradients g;
    assert(tolerance > 0);
    Status status = gradients_init(&g, s, fault);
    if (status) return status;
    first_residual(&g, right_side, x);
    RowSum now = take_step(&g, 0), last = {0, 0};
    int iteration = 0;
    while (!status && (double)now.worst >= tolerance && iteration < ITERATIONS_MOST) {
        const double keep = iteration++ ? now.dot / last.dot : 0;
        const double dot = turn_and_apply(&g, (float)keep);
        if (!(dot > 0)) break; /* nothing is left that single precision can tell */
        last = now;
        now = take_step(&g, (float)(now.dot / dot));
        if (voice_stopped(voice))
            status = fault_set(fault, STATUS_INTERRUPTED, "layers: stopped; run the plan again");
    }
    add_change(&g, x);
    memory_free(g.memory);
    return status;
}
