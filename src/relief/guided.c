/* The guided filter in one pass over blocks of rows (He, Sun and Tang 2010, 2013: see the
 * header).
 *
 * Rows are done in blocks. A block of rows needs its windows' coefficients a radius
 * further up and down, and these need the pictures a radius further still; each worker
 * keeps just those rows, so memory does not grow with the picture. All means are box sums
 * that slide down and along, in doubles. A block's result depends on its rows alone, so the
 * number of threads does not change it. */
#include "relief/guided.h"

#include "base/bands.h"
#include "base/memory.h"

#include <assert.h>
#include <string.h>

enum {
    GUIDE = 0,     /* three planes */
    INPUT = 3,     /* one */
    SQUARES = 4,   /* six: rr rg rb gg gb bb */
    PRODUCTS = 10, /* three */
    PLANES = 13,
    COEFFICIENTS = 4 /* a's three and b */
};
enum { BLOCK_ROWS = 64 };

typedef struct Filter {
    const GuidedOptions *options;
    const float *guide, *input; /* see GuidedInput */
    float *out;
    int columns, rows;
    double *scratch; /* one part for each worker */
    size_t part;     /* numbers in it */
} Filter;

/* Rows [from, to) of the picture. */
typedef struct Span {
    int from, to;
} Span;

static Span widened(Span s, int by, int rows)
{
    s.from = s.from > by ? s.from - by : 0;
    s.to = rows - s.to > by ? s.to + by : rows;
    return s;
}

/* Adds or takes away a row of a plane from the columns' sums. */
static void slide(double *sum, const double *row, double sign, int columns)
{
    for (int x = 0; x < columns; x++) sum[x] += sign * row[x];
}

/* Means of the windows along one row, from its columns' sums over `high` rows. */
static void mean_row(const double *sum, int columns, int radius, int high, double *out)
{
    double window = 0;
    for (int x = 0; x < radius && x < columns; x++) window += sum[x];
    for (int x = 0; x < columns; x++) {
        if (x + radius < columns) window += sum[x + radius];
        if (x > radius) window -= sum[x - radius - 1];
        const int left = x < radius ? x : radius;
        const int right = columns - 1 - x < radius ? columns - 1 - x : radius;
        out[x] = window / ((double)high * (left + right + 1));
    }
}

/* Means of a plane that holds the rows `have`, for the rows `want` within them. */
static void mean_plane(const Filter *f, const double *plane, Span have, Span want, double *sum,
                       double *out)
{
    const int radius = f->options->radius, columns = f->columns;
    const size_t width = (size_t)columns;
    memset(sum, 0, width * sizeof *sum);
    Span window = {have.from, have.from}; /* the rows in sum */
    for (int y = want.from; y < want.to; y++) {
        const Span asked = widened((Span){y, y + 1}, radius, f->rows);
        assert(asked.from >= have.from && asked.to <= have.to);
        for (; window.to < asked.to; window.to++)
            slide(sum, plane + (size_t)(window.to - have.from) * width, 1, columns);
        for (; window.from < asked.from; window.from++)
            slide(sum, plane + (size_t)(window.from - have.from) * width, -1, columns);
        mean_row(sum, columns, radius, asked.to - asked.from,
                 out + (size_t)(y - want.from) * width);
    }
}

/* The pictures and their products over the rows, plane by plane. */
static void fill_planes(const Filter *f, Span have, double *planes, size_t plane)
{
    const size_t width = (size_t)f->columns, count = width * (size_t)(have.to - have.from);
    const float *guide = f->guide + 3 * width * (size_t)have.from;
    const float *input = f->input + width * (size_t)have.from;
    for (size_t i = 0; i < count; i++, guide += 3) {
        const double r = (double)guide[0], g = (double)guide[1], b = (double)guide[2];
        const double p = (double)input[i];
        const double value[PLANES] = {r,     g,     b,     p,     r * r, r * g, r * b,
                                      g * g, g * b, b * b, r * p, g * p, b * p};
        for (int k = 0; k < PLANES; k++) planes[(size_t)k * plane + i] = value[k];
    }
}

/* Solves (covariance + epsilon) a = c by the adjugate; the matrix is symmetric and, for
 * epsilon > 0, positive definite. */
static void solve_window(const double m[PLANES], double epsilon, double a_out[COEFFICIENTS])
{
    const double r = m[GUIDE], g = m[GUIDE + 1], b = m[GUIDE + 2], p = m[INPUT];
    const double rr = m[SQUARES] - r * r + epsilon, rg = m[SQUARES + 1] - r * g;
    const double rb = m[SQUARES + 2] - r * b, gg = m[SQUARES + 3] - g * g + epsilon;
    const double gb = m[SQUARES + 4] - g * b, bb = m[SQUARES + 5] - b * b + epsilon;
    const double cr = m[PRODUCTS] - r * p, cg = m[PRODUCTS + 1] - g * p;
    const double cb = m[PRODUCTS + 2] - b * p;
    const double frr = gg * bb - gb * gb, frg = gb * rb - rg * bb, frb = rg * gb - gg * rb;
    const double fgg = rr * bb - rb * rb, fgb = rb * rg - rr * gb, fbb = rr * gg - rg * rg;
    const double determinant = rr * frr + rg * frg + rb * frb;
    a_out[0] = (frr * cr + frg * cg + frb * cb) / determinant;
    a_out[1] = (frg * cr + fgg * cg + fgb * cb) / determinant;
    a_out[2] = (frb * cr + fgb * cg + fbb * cb) / determinant;
    a_out[3] = p - a_out[0] * r - a_out[1] * g - a_out[2] * b;
}

/* What a worker holds for a block: the planes, their means, the sums of the columns. The
 * means' coefficients take the place of the planes once these are used up. */
typedef struct Scratch {
    double *planes, *means, *sum;
    size_t plane; /* numbers a plane */
} Scratch;

static Scratch filter_scratch(const Filter *f, int worker)
{
    double *start = f->scratch + (size_t)worker * f->part;
    const size_t plane = (f->part - (size_t)f->columns) / (2 * PLANES);
    return (Scratch){start, start + PLANES * plane, start + 2 * PLANES * plane, plane};
}

static void filter_rows(void *context, int begin, int end, int worker)
{
    const Filter *f = context;
    const size_t width = (size_t)f->columns;
    const Span own = {begin, end};
    const Span windows = widened(own, f->options->radius, f->rows);
    const Span have = widened(windows, f->options->radius, f->rows);
    const Scratch s = filter_scratch(f, worker);
    fill_planes(f, have, s.planes, s.plane);
    for (size_t k = 0; k < PLANES; k++)
        mean_plane(f, s.planes + k * s.plane, have, windows, s.sum, s.means + k * s.plane);
    const size_t count = width * (size_t)(windows.to - windows.from);
    for (size_t i = 0; i < count; i++) {
        double m[PLANES], a[COEFFICIENTS];
        for (size_t k = 0; k < PLANES; k++) m[k] = s.means[k * s.plane + i];
        solve_window(m, f->options->epsilon, a);
        for (size_t k = 0; k < COEFFICIENTS; k++) s.planes[k * s.plane + i] = a[k];
    }
    for (size_t k = 0; k < COEFFICIENTS; k++)
        mean_plane(f, s.planes + k * s.plane, windows, own, s.sum, s.means + k * s.plane);
    float *out = f->out + width * (size_t)begin;
    const float *guide = f->guide + 3 * width * (size_t)begin;
    for (size_t i = 0; i < width * (size_t)(end - begin); i++, guide += 3)
        out[i] = (float)(s.means[i] * (double)guide[0] + s.means[s.plane + i] * (double)guide[1] +
                         s.means[2 * s.plane + i] * (double)guide[2] + s.means[3 * s.plane + i]);
}

Status guided_filter(const GuidedOptions *options, const GuidedInput *input, float *out,
                     Fault *fault)
{
    assert(options->radius >= 1 && options->epsilon > 0);
    const int columns = input->columns, rows = input->rows;
    int threads = options->threads;
    const int blocks = rows / BLOCK_ROWS + (rows % BLOCK_ROWS != 0);
    if (threads > blocks) threads = blocks;
    if (threads > BANDS_MOST_THREADS) threads = BANDS_MOST_THREADS;
    if (threads < 1) threads = 1;
    const Span most = widened((Span){0, BLOCK_ROWS}, 4 * options->radius, rows);
    const size_t plane = (size_t)columns * (size_t)most.to;
    Filter f = {.options = options,
                .guide = input->guide,
                .input = input->input,
                .out = out,
                .columns = columns,
                .rows = rows};
    f.part = 2 * PLANES * plane + (size_t)columns;
    f.scratch = memory_create((size_t)threads * f.part, sizeof *f.scratch);
    if (!f.scratch) return memory_fault(fault, (size_t)threads * f.part, sizeof *f.scratch);
    bands_run_until(options->voice, threads, rows, BLOCK_ROWS, filter_rows, &f);
    memory_free(f.scratch);
    return STATUS_OK;
}
