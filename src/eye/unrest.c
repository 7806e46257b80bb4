/* Two samples a cell each way, blurred row by row (eye_blur.h). The rows that pairs reach up to
 * are kept in a ring, so memory does not grow with the height of the face. Sums by row make the
 * figures the same for any number of threads. */
#include "eye/unrest.h"

#include "base/bands.h"
#include "base/memory.h"
#include "colour/lab_row.h"
#include "eye/eye_blur.h"

#include <assert.h>

enum {
    PER_CELL = 2,                       /* samples, each way */
    RING = UNREST_CELLS * PER_CELL + 1, /* rows of samples that pairs reach over */
    ROWS_AT_ONCE = 32                   /* of cells; each piece blurs UNREST_CELLS more */
};

enum { PICTURE, FACE, SIDES };

/* Of one worker. */
typedef struct Scratch {
    float *line; /* eye_runs_scratch */
    float *plane[EYE_PLANES];
    LabRow row[SIDES][RING]; /* sample row r in r % RING */
    float *difference[SIDES];
} Scratch;

typedef struct Unrest {
    const EyeSide *side[SIDES];
    EyeAxis x, y;
    EyeRuns runs;
    Quick quick;
    int threads;
    Scratch *scratch;
    double (*row_sum)[UNREST_CELLS]; /* by row of samples */
} Unrest;

static size_t row_pairs(const Unrest *u) { return (size_t)u->runs.runs * (size_t)u->runs.pitch; }

/* Pairs are read in whole lanes, a little beyond the row. */
static size_t padded_row(const Unrest *u) { return row_pairs(u) + 2 * LAB_LANES; }

static void unrest_clear(Unrest *u)
{
    eye_axis_clear(&u->x);
    eye_axis_clear(&u->y);
    for (int w = 0; w < u->threads && u->scratch; w++) {
        memory_free(u->scratch[w].line);
        memory_free(u->scratch[w].plane[0]);
        memory_free(u->scratch[w].row[0][0].L);
        memory_free(u->scratch[w].difference[0]);
    }
    memory_free(u->scratch);
    memory_free(u->row_sum);
}

static Status unrest_scratch(const Unrest *u, Scratch *s, Fault *fault)
{
    const size_t row = padded_row(u), rings = (size_t)SIDES * RING * 3;
    s->line = memory_create(eye_runs_scratch(&u->x), sizeof(float));
    s->plane[0] = memory_create(EYE_PLANES * row, sizeof(float));
    s->difference[0] = memory_create(SIDES * row, sizeof(float));
    float *lab = s->row[0][0].L = memory_create(rings, row * sizeof(float));
    if (!s->line || !s->plane[0] || !s->difference[0] || !lab)
        return memory_fault(fault, rings, row * sizeof(float));
    for (int p = 1; p < EYE_PLANES; p++) s->plane[p] = s->plane[p - 1] + row;
    s->difference[1] = s->difference[0] + row;
    for (int i = 0; i < SIDES * RING; i++, lab += 3 * row)
        s->row[i / RING][i % RING] = (LabRow){lab, lab + row, lab + 2 * row};
    return STATUS_OK;
}

static Status unrest_init(Unrest *u, const EyeOptions *options, Fault *fault)
{
    const Viewpoint *view = &options->viewpoint;
    const EyeSpacing spacing = {PER_CELL, 1};
    const Image *image = u->side[FACE]->image;
    u->threads = bands_threads(options->threads);
    quick_init(&u->quick);
    Status status = eye_axis_init(
        &u->x, image->columns, eye_degrees(view->cell_width_mm, view->distance_mm), spacing, fault);
    if (!status)
        status =
            eye_axis_init(&u->y, image->rows, eye_degrees(view->cell_height_mm, view->distance_mm),
                          spacing, fault);
    if (status) return status;
    u->runs = eye_runs(&u->x);
    u->row_sum = memory_create((size_t)u->y.samples, sizeof *u->row_sum);
    u->scratch = memory_create((size_t)u->threads, sizeof *u->scratch);
    if (!u->row_sum || !u->scratch)
        return memory_fault(fault, (size_t)u->y.samples, sizeof *u->row_sum);
    for (int w = 0; w < u->threads && !status; w++)
        status = unrest_scratch(u, &u->scratch[w], fault);
    return status;
}

/* What both sides look like on a row of samples, into the ring. */
static void see_both(const Unrest *u, const Scratch *s, int row)
{
    for (int i = 0; i < SIDES; i++) {
        const EyeSide *side = u->side[i];
        const float *from[EYE_PLANES] = {side->plane[0], side->plane[1], side->plane[2]};
        const float *const seen[EYE_PLANES] = {s->plane[0], s->plane[1], s->plane[2]};
        eye_blur_runs(&u->x, &u->y, from, row, s->line, s->plane);
        lab_row(eye_xyz_from_opponent, seen, (int)row_pairs(u), &s->row[i][row % RING]);
    }
}

static LabRow moved(const LabRow *row, int by)
{
    return (LabRow){row->L + by, row->a + by, row->b + by};
}

/* Samples of one row and others, `along` further in their run, of another row or the same. */
typedef struct Pairs {
    int row, other, along;
} Pairs;

/* The sum over the first `count` pairs of a run that begins `at` samples into the row. */
static double sum_run(const Unrest *u, const Scratch *s, Pairs p, int at, int count)
{
    const int lanes = (count + LAB_LANES - 1) / LAB_LANES * LAB_LANES;
    for (int i = 0; i < SIDES; i++) {
        const LabRow one = moved(&s->row[i][p.row % RING], at);
        const LabRow other = moved(&s->row[i][p.other % RING], at + p.along);
        lab_row_differences(&u->quick, &one, &other, lanes, s->difference[i]);
    }
    double sum = 0.0;
    for (int i = 0; i < count; i++) {
        const float more = s->difference[FACE][i] - s->difference[PICTURE][i];
        if (more > 0.0f) sum += (double)more;
    }
    return sum;
}

static double sum_pairs(const Unrest *u, const Scratch *s, Pairs p)
{
    double sum = 0.0;
    for (int run = 0; run < u->runs.runs && u->runs.samples > p.along; run++)
        sum += sum_run(u, s, p, run * u->runs.pitch, u->runs.samples - p.along);
    return sum;
}

static void sum_row(const Unrest *u, const Scratch *s, int row)
{
    for (int k = 1; k <= UNREST_CELLS; k++) {
        const int above = row + k * PER_CELL;
        double *sum = &u->row_sum[row][k - 1];
        *sum = sum_pairs(u, s, (Pairs){row, row, k});
        if (above < u->y.samples) *sum += sum_pairs(u, s, (Pairs){row, above, 0});
    }
}

static void sum_rows(void *context, int begin, int end, int worker)
{
    const Unrest *u = context;
    const Scratch *s = &u->scratch[worker];
    int seen = begin * PER_CELL;
    for (int row = begin * PER_CELL; row < end * PER_CELL; row++) {
        for (; seen < row + RING && seen < u->y.samples; seen++) see_both(u, s, seen);
        sum_row(u, s, row);
    }
}

static void means_of(const Unrest *u, double out[UNREST_CELLS])
{
    const double columns = u->x.cells, rows = u->y.cells;
    for (int k = 1; k <= UNREST_CELLS; k++) {
        double sum = 0.0, pairs = 0.0;
        for (int row = 0; row < u->y.samples; row++) sum += u->row_sum[row][k - 1];
        if (columns > k) pairs += (columns - k) * rows;
        if (rows > k) pairs += columns * (rows - k);
        out[k - 1] = pairs > 0.0 ? sum / (pairs * PER_CELL * PER_CELL) : 0.0;
    }
}

Status unrest_measure(const EyeSide *picture, const EyeSide *face, const EyeOptions *options,
                      double out[UNREST_CELLS], Fault *fault)
{
    assert(picture->image->columns == face->image->columns);
    assert(picture->image->rows == face->image->rows);
    Unrest u = {.side = {picture, face}};
    const Status status = unrest_init(&u, options, fault);
    if (!status) {
        bands_run_until(options->voice, u.threads, u.y.cells, ROWS_AT_ONCE, sum_rows, &u);
        means_of(&u, out);
    }
    unrest_clear(&u);
    return status;
}

Status unrest_compare(const Image *picture, const Image *face, const EyeOptions *options,
                      double out[UNREST_CELLS], Fault *fault)
{
    EyeSide side[SIDES] = {{0}, {0}};
    Status status = eye_side_init(&side[PICTURE], picture, options->threads, options->voice, fault);
    if (!status) status = eye_side_init(&side[FACE], face, options->threads, options->voice, fault);
    if (!status) status = unrest_measure(&side[PICTURE], &side[FACE], options, out, fault);
    for (int i = 0; i < SIDES; i++) eye_side_clear(&side[i]);
    return status;
}
