/* Points are black or red like the squares of a chessboard, so that ties join only black with red.
 * A red point follows at once from the four black ones around it, so the red are eliminated and
 * conjugate gradients (Hestenes and Stiefel, J. Research NBS 49(6):409-436, 1952) run on the black
 * alone: half the iterations, on half the points (J. Reid, SIAM J. Numer. Anal. 9(2):325-332, 1972;
 * both from memory).
 *
 * The unknowns are scaled by the root of the diagonal, which makes the diagonal 1: the
 * preconditioner costs nothing then. With B what black points lend red ones, the equations of the
 * black are (1 - B'B) x = r + B's, r and s what is left to both colours, and the red are s + B x.
 *
 * Planes have one colour each: in row y the black points stand at columns 2k + y mod 2, the red at
 * 2k + 1 - y mod 2, at place k of their rows. So the neighbours above and below have the same
 * place, and those beside are a place apart, or none. Rows have a margin of zeros that stands for
 * what lies outside. A fixed point is one that is tied to nothing and has no residual; what it
 * lends its neighbours is part of the first residual.
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
enum { ITERATIONS_MOST = 10000 };

/* ---- the system ---- */

static size_t padded(int columns)
{
    return ((size_t)(columns + 1) / 2 + SIMD8 - 1) / SIMD8 * SIMD8 + SIMD8;
}

/* Floats of a plane: a row of zeros below and above, and one lane before the first. */
static size_t plane_size(const FivePoint *s)
{
    return s->stride * ((size_t)s->terms.rows + 2) + SIMD8;
}

/* Where row 0 begins. */
static size_t plane_start(const FivePoint *s) { return s->stride + SIMD8; }

static size_t row_length(const FivePoint *s) { return s->stride - SIMD8; }

/* Where a point is in a plane of its colour. */
static size_t place_of(const FivePoint *s, int column, int row)
{
    return (size_t)row * s->stride + (size_t)column / 2;
}

static bool is_black(int column, int row) { return ((column ^ row) & 1) == 0; }

static bool is_free(const FivePointTerms *t, size_t point) { return !t->fixed || !t->fixed[point]; }

static double weight_right(const FivePointTerms *t, size_t point)
{
    return t->right ? (double)t->right[point] : 1;
}

static double weight_up(const FivePointTerms *t, size_t point)
{
    return t->up ? (double)t->up[point] : 1;
}

/* The sum of a point's four ties. */
static double ties_at_point(const FivePointTerms *t, int column, int row)
{
    const size_t width = (size_t)t->columns, p = (size_t)row * width + (size_t)column;
    double sum = 0;
    if (column > 0) sum += weight_right(t, p - 1);
    if (column + 1 < t->columns) sum += weight_right(t, p);
    if (row > 0) sum += weight_up(t, p - width);
    if (row + 1 < t->rows) sum += weight_up(t, p);
    return sum;
}

/* What a point receives along them. */
static double flow_to(const FivePointTerms *t, int column, int row, const float *x)
{
    const size_t width = (size_t)t->columns, p = (size_t)row * width + (size_t)column;
    const double own = (double)x[p];
    double sum = 0;
    if (column > 0) sum += weight_right(t, p - 1) * ((double)x[p - 1] - own);
    if (column + 1 < t->columns) sum += weight_right(t, p) * ((double)x[p + 1] - own);
    if (row > 0) sum += weight_up(t, p - width) * ((double)x[p - width] - own);
    if (row + 1 < t->rows) sum += weight_up(t, p) * ((double)x[p + width] - own);
    return sum;
}

static float *scale_at(const FivePoint *s, int column, int row)
{
    return (is_black(column, row) ? s->black_scale : s->red_scale) + place_of(s, column, row);
}

static void scale_row(FivePoint *s, int row)
{
    const FivePointTerms *t = &s->terms;
    for (int column = 0; column < t->columns; column++) {
        const double diagonal = t->pull + ties_at_point(t, column, row);
        const bool is = is_free(t, (size_t)row * (size_t)t->columns + (size_t)column);
        *scale_at(s, column, row) = is && diagonal > 0 ? (float)(1 / sqrt(diagonal)) : 0;
    }
}

/* A tie is kept with its black end. */
static void tie_row(FivePoint *s, int row)
{
    const FivePointTerms *t = &s->terms;
    const size_t from = (size_t)row * (size_t)t->columns;
    for (int x = 0; x < t->columns; x++) {
        const size_t at = place_of(s, x, row);
        const double own = (double)*scale_at(s, x, row);
        if (x + 1 < t->columns) {
            const double w = weight_right(t, from + (size_t)x) * own;
            const float tie = (float)(w * (double)*scale_at(s, x + 1, row));
            if (is_black(x, row))
                s->right[at] = tie;
            else
                s->left[place_of(s, x + 1, row)] = tie;
        }
        if (row + 1 < t->rows) {
            const double w = weight_up(t, from + (size_t)x) * own;
            const float tie = (float)(w * (double)*scale_at(s, x, row + 1));
            if (is_black(x, row))
                s->up[at] = tie;
            else
                s->down[at + s->stride] = tie;
        }
    }
}

Status five_point_init(FivePoint *s, const FivePointTerms *terms, Fault *fault)
{
    *s = (FivePoint){.terms = *terms, .stride = padded(terms->columns)};
    float **const plane[] = {&s->black_scale, &s->red_scale, &s->left, &s->right, &s->down, &s->up};
    const size_t size = plane_size(s), planes = sizeof plane / sizeof *plane;
    s->memory = memory_create(planes * size, sizeof *s->memory);
    if (!s->memory) return memory_fault(fault, planes * size, sizeof *s->memory);
    for (size_t i = 0; i < planes; i++) *plane[i] = s->memory + i * size + plane_start(s);
    for (int row = 0; row < terms->rows; row++) scale_row(s, row);
    for (int row = 0; row < terms->rows; row++) tie_row(s, row);
    return STATUS_OK;
}

void five_point_clear(FivePoint *s)
{
    memory_free(s->memory);
    *s = (FivePoint){0};
}

/* ---- what the colours lend each other ---- */

/* Of a row and of those below and above it. */
typedef struct Ties {
    const float *left, *right, *down, *up; /* of its black points */
    const float *below_up, *above_down;    /* of those a row before and a row further */
    size_t stride;
    int odd; /* the row */
} Ties;

static Ties ties_at(const FivePoint *s, int row)
{
    const size_t at = (size_t)row * s->stride;
    return (Ties){s->left + at,
                  s->right + at,
                  s->down + at,
                  s->up + at,
                  s->up + at - s->stride,
                  s->down + at + s->stride,
                  s->stride,
                  row & 1};
}

/* red = what the black points lend the red ones of a row. */
WIDE static void lend_red(const Ties *t, const float *black, float *red, size_t count)
{
    const float *below = black - t->stride, *above = black + t->stride;
    const float *left = black - t->odd, *left_tie = t->right - t->odd;
    const float *right = left + 1, *right_tie = t->left - t->odd + 1;
    for (size_t i = 0; i < count; i += SIMD8) {
        const Simd8 across = simd8_at(left_tie + i) * simd8_at(left + i) +
                             simd8_at(right_tie + i) * simd8_at(right + i);
        const Simd8 along = simd8_at(t->below_up + i) * simd8_at(below + i) +
                            simd8_at(t->above_down + i) * simd8_at(above + i);
        simd8_put(red + i, across + along);
    }
}

/* What red points lend the black ones of a row at place i. */
INLINED void lend_black(const Ties *t, const float *red, size_t i, Simd8 *sum)
{
    const float *left = red + i - 1 + t->odd;
    const Simd8 across =
        simd8_at(t->left + i) * simd8_at(left) + simd8_at(t->right + i) * simd8_at(left + 1);
    const Simd8 along = simd8_at(t->down + i) * simd8_at(red + i - t->stride) +
                        simd8_at(t->up + i) * simd8_at(red + i + t->stride);
    *sum = across + along;
}

/* black += what the red points lend it, over one row. */
WIDE static void add_lent(const Ties *t, const float *red, float *black, size_t count)
{
    for (size_t i = 0; i < count; i += SIMD8) {
        Simd8 lent;
        lend_black(t, red, i, &lent);
        simd8_put(black + i, simd8_at(black + i) + lent);
    }
}

/* ---- conjugate gradients ---- */

/* Planes in scaled unknowns, of black points if nothing else is said. */
typedef struct Gradients {
    const FivePoint *system;
    float *memory;
    float *change;    /* of x so far */
    float *residual;  /* what the change leaves */
    float *direction; /* of the next step */
    float *image;     /* the matrix times the direction */
    float *red;       /* what the direction lends the red points */
    float *red_left;  /* the first residual of the red points */
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

/* image = direction less what it lends itself by way of the red points, over one row; direction .
 * image. */
WIDE static double apply_row(const Ties *t, const float *direction, const float *red, float *image,
                             size_t count)
{
    Simd8 sum = simd8(0.0f);
    for (size_t i = 0; i < count; i += SIMD8) {
        Simd8 lent;
        lend_black(t, red, i, &lent);
        const Simd8 own = simd8_at(direction + i), product = own - lent;
        simd8_put(image + i, product);
        sum += own * product;
    }
    float lane[SIMD8];
    simd8_put(lane, sum);
    return sum_lanes(lane);
}

/* A step of the given length along the direction, over one row that begins at `at`. */
WIDE static RowSum step_row(const Gradients *g, size_t at, size_t count, float length)
{
    const float *direction = g->direction + at, *image = g->image + at;
    const float *scale = g->system->black_scale + at;
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

/* Turns the direction and applies the matrix to it: red points a row behind, black ones two;
 * direction . image. */
static double turn_and_apply(Gradients *g, float keep)
{
    const FivePoint *s = g->system;
    const int rows = s->terms.rows;
    const size_t count = row_length(s);
    double dot = 0;
    for (int row = 0; row < rows + 2; row++) {
        const size_t at = (size_t)row * s->stride, one = at - s->stride, two = one - s->stride;
        if (row < rows) turn_row(g->residual + at, keep, g->direction + at, count);
        if (row > 0 && row <= rows) {
            const Ties ties = ties_at(s, row - 1);
            lend_red(&ties, g->direction + one, g->red + one, count);
        }
        if (row > 1) {
            const Ties ties = ties_at(s, row - 2);
            dot += apply_row(&ties, g->direction + two, g->red + two, g->image + two, count);
        }
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

/* The residual of x, scaled, with the red points eliminated. */
static void first_residual(Gradients *g, const float *right_side, const float *x)
{
    const FivePoint *s = g->system;
    const FivePointTerms *t = &s->terms;
    for (int row = 0; row < t->rows; row++)
        for (int column = 0; column < t->columns; column++) {
            const size_t p = (size_t)row * (size_t)t->columns + (size_t)column;
            const double scale = (double)*scale_at(s, column, row);
            if (!(scale > 0)) continue;
            const double sum =
                (right_side ? (double)right_side[p] : 0) + flow_to(t, column, row, x);
            float *to = is_black(column, row) ? g->residual : g->red_left;
            to[place_of(s, column, row)] = (float)(scale * (sum - t->pull * (double)x[p]));
        }
    for (int row = 0; row < t->rows; row++) {
        const size_t at = (size_t)row * s->stride;
        const Ties ties = ties_at(s, row);
        add_lent(&ties, g->red_left + at, g->residual + at, row_length(s));
    }
}

static Status gradients_init(Gradients *g, const FivePoint *s, Fault *fault)
{
    *g = (Gradients){.system = s};
    float **const plane[] = {&g->change, &g->residual, &g->direction,
                             &g->image,  &g->red,      &g->red_left};
    const size_t size = plane_size(s), planes = sizeof plane / sizeof *plane;
    g->memory = memory_create(planes * size, sizeof *g->memory);
    if (!g->memory) return memory_fault(fault, planes * size, sizeof *g->memory);
    for (size_t i = 0; i < planes; i++) *plane[i] = g->memory + i * size + plane_start(s);
    return STATUS_OK;
}

/* The red points follow from the black ones. */
static void add_change(Gradients *g, float *x)
{
    const FivePoint *s = g->system;
    for (int row = 0; row < s->terms.rows; row++) {
        const size_t start = (size_t)row * s->stride;
        const Ties ties = ties_at(s, row);
        lend_red(&ties, g->change + start, g->red + start, row_length(s));
        for (int column = 0; column < s->terms.columns; column++) {
            const size_t at = place_of(s, column, row);
            *x++ += is_black(column, row) ? s->black_scale[at] * g->change[at]
                                          : s->red_scale[at] * (g->red_left[at] + g->red[at]);
        }
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
