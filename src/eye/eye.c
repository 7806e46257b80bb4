/* S-CIELAB row by row (Zhang & Wandell 1996: see the header).
 *
 * A row of samples is blurred from the opponent planes of each side (eye_blur.h), becomes Lab
 * (lab_row.h) and is compared with the other side's; nothing larger than a row is kept for each
 * worker, so memory does not grow with the number of samples. Sums by row and whole-numbered
 * bins make the figures the same for any number of threads. */
#include "eye/eye.h"

#include "base/bands.h"
#include "base/memory.h"
#include "colour/delta_e.h"
#include "colour/lab_row.h"
#include "eye/eye_blur.h"

#include <assert.h>
#include <math.h>
#include <string.h>

/* The opponent matrix of S-CIELAB (Zhang & Wandell 1996), for XYZ with Y = 1 at white. */
static const double opponent_from_xyz[3][3] = {{0.2787336, 0.7218031, -0.1065520},
                                               {-0.4487736, 0.2898056, 0.0771569},
                                               {0.0859513, -0.5899859, 0.5011089}};

/* Its inverse. */
const double eye_xyz_from_opponent[3][3] = {
    {0.979596160445628, -1.534715701266441, 0.444597643304374},
    {1.188977906742324, 0.7643549575179938, 0.1351257479112584},
    {1.231833313924729, 1.163159259763651, 2.078407588800857}};

void eye_from_xyz(Xyz c, double out[EYE_PLANES])
{
    for (int i = 0; i < 3; i++)
        out[i] = opponent_from_xyz[i][0] * c.x + opponent_from_xyz[i][1] * c.y +
                 opponent_from_xyz[i][2] * c.z;
}

Xyz eye_to_xyz(const double o[EYE_PLANES])
{
    double xyz[3];
    for (int i = 0; i < 3; i++)
        xyz[i] = eye_xyz_from_opponent[i][0] * o[0] + eye_xyz_from_opponent[i][1] * o[1] +
                 eye_xyz_from_opponent[i][2] * o[2];
    return (Xyz){xyz[0], xyz[1], xyz[2]};
}

/* --- a face taken in -------------------------------------------------------------------- */

typedef struct Filling {
    const EyeRows *face;
    int columns;
    float *line; /* for each worker's row; NULL where `give` needs none */
    EyeSide *side;
} Filling;

static const float *given_row(const Filling *f, int row, int worker)
{
    float *line = f->line ? f->line + 3 * (size_t)worker * (size_t)f->columns : NULL;
    return f->face->give(f->face->context, row, line);
}

static void fill_rows(void *context, int begin, int end, int worker)
{
    const Filling *f = context;
    for (int row = begin; row < end; row++) {
        const float *xyz = given_row(f, row, worker);
        const size_t first = (size_t)row * (size_t)f->columns;
        for (size_t at = first; at < first + (size_t)f->columns; at++, xyz += 3) {
            double o[EYE_PLANES];
            eye_from_xyz((Xyz){(double)xyz[0], (double)xyz[1], (double)xyz[2]}, o);
            for (int p = 0; p < EYE_PLANES; p++) f->side->plane[p][at] = (float)o[p];
        }
    }
}

/* Leaves what it made for eye_side_clear where it fails. */
static Status side_fill(Filling *filling, int rows, int threads, Fault *fault)
{
    const size_t cells = (size_t)filling->columns * (size_t)rows;
    for (int p = 0; p < EYE_PLANES; p++) {
        filling->side->plane[p] = memory_create(cells, sizeof(float));
        if (!filling->side->plane[p]) return memory_fault(fault, cells, sizeof(float));
    }
    bands_run_until(filling->face->voice, threads, rows, 16, fill_rows, filling);
    return STATUS_OK;
}

static const float *image_row(void *context, int row, float *line)
{
    (void)line;
    const Image *image = context;
    return image->xyz + 3 * (size_t)row * (size_t)image->columns;
}

void eye_side_clear(EyeSide *side)
{
    for (int p = 0; p < EYE_PLANES; p++) memory_free(side->plane[p]);
    *side = (EyeSide){0};
}

Status eye_side_init(EyeSide *side, const Image *image, int threads, const Voice *voice,
                     Fault *fault)
{
    Image source = *image;
    const EyeRows rows = {.context = &source, .give = image_row, .voice = voice};
    Filling filling = {.face = &rows, .columns = image->columns, .side = side};
    *side = (EyeSide){.image = image};
    const Status status = side_fill(&filling, image->rows, threads, fault);
    if (status) eye_side_clear(side);
    return status;
}

/* --- comparing ------------------------------------------------------------------------ */

/* Shares of the face are counted in bins of 1/128 of a difference, so that the 95th
 * percentile needs no list of all samples; the last bin takes what is above. Shares are
 * whole numbers, PART to a cell each way: their sums are the same in any order. */
enum { BINS_PER_UNIT = 128, BINS = 200 * BINS_PER_UNIT, PART = 4096 };

/* Scratch of one worker: a row of samples. */
typedef struct RowScratch {
    float *line;              /* eye_runs_scratch */
    float *plane[EYE_PLANES]; /* blurred */
    LabRow colour[2];         /* of the reference in hand and of the face */
    float *difference;
    uint64_t *bins[EYE_REFERENCES];
} RowScratch;

typedef struct Compare {
    EyeAxis x, y;
    EyeRuns runs;
    const EyeSide *face, *reference[EYE_REFERENCES];
    int references; /* 0 for a view */
    bool near;      /* no blur */
    int threads;
    RowScratch *scratch;                                       /* for each worker */
    double *row_sum[EYE_REFERENCES], *row_max[EYE_REFERENCES]; /* for each row of samples */
    float *cell; /* sums by cell while samples are finer */
    Quick quick;
} Compare;

static size_t row_size(const Compare *c) { return (size_t)c->runs.runs * (size_t)c->runs.pitch; }

static void compare_clear(Compare *c)
{
    eye_axis_clear(&c->x);
    eye_axis_clear(&c->y);
    for (int w = 0; w < c->threads && c->scratch; w++) {
        const RowScratch *scratch = &c->scratch[w];
        memory_free(scratch->line);
        memory_free(scratch->plane[0]);
        memory_free(scratch->colour[0].L);
        memory_free(scratch->colour[1].L);
        memory_free(scratch->difference);
        memory_free(scratch->bins[0]);
    }
    memory_free(c->scratch);
    memory_free(c->row_sum[0]);
}

static Status scratch_init(const Compare *c, RowScratch *scratch, Fault *fault)
{
    const size_t row = row_size(c), bins = (size_t)c->references * BINS;
    scratch->line = memory_create(eye_runs_scratch(&c->x), sizeof(float));
    scratch->plane[0] = memory_create(EYE_PLANES * row, sizeof(float));
    if (!scratch->line || !scratch->plane[0]) return memory_fault(fault, row, sizeof(float));
    for (int p = 1; p < EYE_PLANES; p++) scratch->plane[p] = scratch->plane[p - 1] + row;
    if (!c->references) return STATUS_OK;
    for (int s = 0; s < 2; s++) {
        float *lab = memory_create(3 * row, sizeof(float));
        if (!lab) return memory_fault(fault, 3 * row, sizeof(float));
        scratch->colour[s] = (LabRow){lab, lab + row, lab + 2 * row};
    }
    scratch->difference = memory_create(row, sizeof(float));
    scratch->bins[0] = memory_create(bins, sizeof **scratch->bins);
    if (!scratch->difference || !scratch->bins[0])
        return memory_fault(fault, bins, sizeof **scratch->bins);
    for (int r = 1; r < c->references; r++) scratch->bins[r] = scratch->bins[r - 1] + BINS;
    return STATUS_OK;
}

/* Scratch, where the axes are known. */
static Status compare_init(Compare *c, Fault *fault)
{
    c->runs = eye_runs(&c->x);
    c->scratch = memory_create((size_t)c->threads, sizeof *c->scratch);
    if (!c->scratch) return memory_fault(fault, (size_t)c->threads, sizeof *c->scratch);
    for (int w = 0; w < c->threads; w++) {
        const Status status = scratch_init(c, &c->scratch[w], fault);
        if (status) return status;
    }
    if (!c->references) return STATUS_OK;
    const size_t rows = (size_t)c->y.samples, figures = 2 * rows * (size_t)c->references;
    c->row_sum[0] = memory_create(figures, sizeof(double));
    if (!c->row_sum[0]) return memory_fault(fault, figures, sizeof(double));
    for (int r = 0; r < c->references; r++) {
        c->row_sum[r] = c->row_sum[0] + 2 * rows * (size_t)r;
        c->row_max[r] = c->row_sum[r] + rows;
    }
    return STATUS_OK;
}

/* The blurred planes of one side on a row of samples, in the worker's scratch. */
static void blur_side(const Compare *c, const EyeSide *side, int sample_row,
                      const RowScratch *scratch)
{
    const float *plane[EYE_PLANES] = {side->plane[0], side->plane[1], side->plane[2]};
    eye_blur_runs(&c->x, &c->y, plane, sample_row, scratch->line, scratch->plane);
}

static void compare_colours(const Compare *c, const RowScratch *scratch)
{
    lab_row_differences(&c->quick, &scratch->colour[0], &scratch->colour[1], (int)row_size(c),
                        scratch->difference);
}

/* What one side looks like on a row of samples. */
static void see_row(const Compare *c, const EyeSide *side, int row, const RowScratch *scratch,
                    const LabRow *colour)
{
    const float *const plane[EYE_PLANES] = {scratch->plane[0], scratch->plane[1],
                                            scratch->plane[2]};
    blur_side(c, side, row, scratch);
    lab_row(eye_xyz_from_opponent, plane, (int)row_size(c), colour);
}

static void difference_row(const Compare *c, int r, int row, const RowScratch *scratch)
{
    see_row(c, c->reference[r], row, scratch, &scratch->colour[0]);
    compare_colours(c, scratch);
}

/* No blur: the samples are the cells. The greatest difference is told to more digits than
 * single precision gives, so those of a row that may be it are worked out anew. */
static void near_row(const Compare *c, int r, int row, const RowScratch *scratch)
{
    float *const plane[3] = {scratch->plane[0], scratch->plane[1], scratch->plane[2]};
    const int columns = c->x.cells;
    const Image *const image[2] = {c->reference[r]->image, c->face->image};
    for (int s = 0; s < 2; s++) {
        const float *xyz = image[s]->xyz + 3 * (size_t)row * (size_t)columns;
        lab_row_of_samples(xyz, columns, plane, (int)row_size(c), &scratch->colour[s]);
    }
    compare_colours(c, scratch);
    float most = 0.0f;
    for (int i = 0; i < columns; i++)
        if (scratch->difference[i] > most) most = scratch->difference[i];
    for (int i = 0; i < columns; i++)
        if (scratch->difference[i] > most - 0.01f)
            scratch->difference[i] = (float)delta_e_2000(lab_from_xyz(image_at(image[0], i, row)),
                                                         lab_from_xyz(image_at(image[1], i, row)));
}

static double axis_share(const EyeAxis *axis, int sample)
{
    return axis->share[eye_axis_phase(axis, sample)];
}

/* Samples that stand for the same share of the face. */
typedef struct Samples {
    const float *difference;
    int count;
    double share; /* of a cell's width, for each */
} Samples;

static void sum_samples(const Compare *c, int r, int row, Samples s, uint64_t *bins)
{
    const uint64_t part =
        (uint64_t)llround(s.share * PART) * (uint64_t)llround(axis_share(&c->y, row) * PART);
    double sum = 0.0, most = c->row_max[r][row];
    for (int i = 0; i < s.count; i++) {
        const double d = (double)s.difference[i], at = d * BINS_PER_UNIT;
        sum += d;
        if (d > most) most = d;
        bins[at < BINS - 1 ? (int)at : BINS - 1] += part;
    }
    c->row_sum[r][row] += s.share * sum;
    c->row_max[r][row] = most;
}

static void sum_differences(const Compare *c, int r, int row, const RowScratch *scratch)
{
    const float *d = scratch->difference;
    const double *share = c->x.share;
    if (c->x.spacing.stride == 1) {
        for (int run = 0; run < c->runs.runs; run++, d += c->runs.pitch)
            sum_samples(c, r, row, (Samples){d, c->runs.samples, share[run]}, scratch->bins[r]);
    } else {
        const int last = c->runs.samples - 1;
        sum_samples(c, r, row, (Samples){d, last, share[0]}, scratch->bins[r]);
        sum_samples(c, r, row, (Samples){d + last, 1, share[1]}, scratch->bins[r]);
    }
}

/* The differences of a row go to the cells that its samples stand for. */
static void give_cells(const Compare *c, int row, const RowScratch *scratch)
{
    const int columns = c->x.cells, sx = c->x.spacing.stride, sy = c->y.spacing.stride;
    const int low = sy == 1 ? row / c->y.spacing.per_cell : row * sy;
    const double up = fmin(axis_share(&c->y, row), 1.0);
    const float *d = scratch->difference;
    for (int run = 0; run < c->runs.runs; run++, d += c->runs.pitch) {
        const double share = up * fmin(c->x.share[run], 1.0);
        for (int y = low; y < low + sy && y < c->y.cells; y++)
            for (int x = 0; x < columns; x++)
                c->cell[(size_t)y * (size_t)columns + (size_t)x] +=
                    (float)(share * (double)d[x / sx]);
    }
}

/* All the samples of rows of cells (or strides) [begin, end): whole cells, so that no two
 * workers add to one cell. */
static void compare_rows(void *context, int begin, int end, int worker)
{
    Compare *c = context;
    const RowScratch *scratch = &c->scratch[worker];
    const int per = c->y.spacing.per_cell;
    for (int row = begin * per; row < end * per; row++) {
        if (!c->near) see_row(c, c->face, row, scratch, &scratch->colour[1]);
        for (int r = 0; r < c->references; r++) {
            if (c->near)
                near_row(c, r, row, scratch);
            else
                difference_row(c, r, row, scratch);
            sum_differences(c, r, row, scratch);
        }
        if (c->cell) give_cells(c, row, scratch);
    }
}

/* The difference that `share` of the face is below. */
static double percentile(const Compare *c, int r, double share)
{
    uint64_t *bins = c->scratch[0].bins[r], total = 0, below = 0;
    for (int b = 0; b < BINS; b++) {
        for (int w = 1; w < c->threads; w++) bins[b] += c->scratch[w].bins[r][b];
        total += bins[b];
    }
    const double wanted = share * (double)total;
    for (int b = 0; b < BINS; b++) {
        if ((double)(below + bins[b]) >= wanted && bins[b])
            return ((double)b + (wanted - (double)below) / (double)bins[b]) / BINS_PER_UNIT;
        below += bins[b];
    }
    return 0.0;
}

static EyeResult result_of(const Compare *c, int r)
{
    double sum = 0.0, most = 0.0;
    for (int row = 0; row < c->y.samples; row++) {
        sum += axis_share(&c->y, row) * c->row_sum[r][row];
        most = fmax(most, c->row_max[r][row]);
    }
    return (EyeResult){.mean = sum / ((double)c->x.cells * (double)c->y.cells),
                       .p95 = fmin(percentile(c, r, 0.95), most),
                       .max = most};
}

/* An axis of samples for a mean. */
static Status mean_axis(EyeAxis *axis, int cells, double cell_mm, double distance_mm, Fault *fault)
{
    const double cell = eye_degrees(cell_mm, distance_mm);
    const EyeSpacing whole = {1, 1};
    return eye_axis_init_mean(axis, cells, cell, distance_mm > 0.0 ? eye_spacing(cell) : whole,
                              fault);
}

/* The sides are given; all else of a comparison follows from the options. */
static Status compare_sides(Compare *c, const EyeOptions *options, EyeResult *result, Fault *fault)
{
    const Viewpoint *view = &options->viewpoint;
    c->threads = bands_threads(options->threads);
    c->cell = options->cell_out;
    assert(view->cell_width_mm > 0.0 && view->cell_height_mm > 0.0 && view->distance_mm >= 0.0);
    const Image *face = c->face->image;
    if (c->cell) memset(c->cell, 0, (size_t)face->columns * (size_t)face->rows * sizeof *c->cell);
    c->near = view->distance_mm <= 0.0;
    quick_init(&c->quick);
    Status status = mean_axis(&c->x, face->columns, view->cell_width_mm, view->distance_mm, fault);
    if (!status)
        status = mean_axis(&c->y, face->rows, view->cell_height_mm, view->distance_mm, fault);
    if (!status) status = compare_init(c, fault);
    if (!status)
        bands_run_until(options->voice, c->threads, c->y.samples / c->y.spacing.per_cell, 1,
                        compare_rows, c);
    for (int r = 0; r < c->references && !status; r++) result[r] = result_of(c, r);
    compare_clear(c);
    return status;
}

Status eye_compare_sides(const EyeSide *const reference[], int references, const EyeSide *face,
                         const EyeOptions *options, EyeResult *result, Fault *fault)
{
    assert(references <= EYE_REFERENCES);
    Compare c = {.face = face, .references = references};
    for (int r = 0; r < references; r++) c.reference[r] = reference[r];
    return compare_sides(&c, options, result, fault);
}

Status eye_compare(const Image *reference, const Image *face, const EyeOptions *options,
                   EyeResult *result, Fault *fault)
{
    assert(reference->columns == face->columns && reference->rows == face->rows);
    EyeSide side[2] = {{.image = reference}, {.image = face}};
    Compare c = {.face = &side[1], .reference = {&side[0]}, .references = 1};
    Status status = STATUS_OK;
    for (int s = 0; s < 2 && !status && options->viewpoint.distance_mm > 0.0; s++)
        status = eye_side_init(&side[s], side[s].image, options->threads, options->voice, fault);
    if (!status) status = compare_sides(&c, options, result, fault);
    for (int s = 0; s < 2; s++) eye_side_clear(&side[s]);
    return status;
}

Status eye_face(const Palette *palette, const Grid *grid, Image *face, Fault *fault)
{
    const Status status = image_init(face, grid->columns, grid->rows, fault);
    if (status) return status;
    const size_t cells = (size_t)grid->columns * (size_t)grid->rows;
    for (size_t i = 0; i < cells; i++) {
        const Xyz c = palette->colour[grid->colour[i]].xyz;
        face->xyz[3 * i] = (float)c.x;
        face->xyz[3 * i + 1] = (float)c.y;
        face->xyz[3 * i + 2] = (float)c.z;
    }
    return STATUS_OK;
}

Status eye_measure(const Image *reference, const Palette *palette, const Grid *grid,
                   const EyeOptions *options, EyeResult *result, Fault *fault)
{
    Image face;
    Status status = eye_face(palette, grid, &face, fault);
    if (status) return status;
    status = eye_compare(reference, &face, options, result, fault);
    image_clear(&face);
    return status;
}

/* --- the face as seen ------------------------------------------------------------------ */

typedef struct View {
    Filling filling;
    Compare compare;
    double neutral[EYE_PLANES]; /* see find_neutral */
} View;

/* No blur. */
static void pass_rows(void *context, int begin, int end, int worker)
{
    const View *v = context;
    const EyeRows *face = v->filling.face;
    for (int row = begin; row < end; row++)
        face->take(face->context, row, given_row(&v->filling, row, worker));
}

/* What the neutral of luminance 1 has on each plane but the first, for planes of light. */
static void find_neutral(double neutral_out[EYE_PLANES])
{
    double white[EYE_PLANES];
    eye_from_xyz(WHITE_D50, white);
    for (int p = 0; p < EYE_PLANES; p++) neutral_out[p] = p ? white[p] / white[0] : 0.0;
}

static void take_neutral_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    const View *v = context;
    const EyeSide *side = v->filling.side;
    const size_t columns = (size_t)v->filling.columns;
    for (int p = 1; p < EYE_PLANES; p++)
        for (size_t i = (size_t)begin * columns; i < (size_t)end * columns; i++)
            side->plane[p][i] -= (float)v->neutral[p] * side->plane[0][i];
}

static void view_rows(void *context, int begin, int end, int worker)
{
    const View *v = context;
    const EyeRows *face = v->filling.face;
    const RowScratch *scratch = &v->compare.scratch[worker];
    const int columns = v->filling.columns;
    float *xyz = v->filling.line + 3 * (size_t)worker * (size_t)columns;
    for (int row = begin; row < end; row++) {
        blur_side(&v->compare, v->filling.side, row, scratch);
        for (int i = 0; i < columns; i++) {
            double o[EYE_PLANES];
            for (int p = 0; p < EYE_PLANES; p++)
                o[p] = (double)scratch->plane[p][i] + v->neutral[p] * (double)scratch->plane[0][i];
            const Xyz c = eye_to_xyz(o);
            xyz[3 * i] = (float)c.x;
            xyz[3 * i + 1] = (float)c.y;
            xyz[3 * i + 2] = (float)c.z;
        }
        face->take(face->context, row, xyz);
    }
}

static Status view_blurred(View *v, int rows, const Viewpoint *view, Fault *fault)
{
    Compare *c = &v->compare;
    const Voice *voice = v->filling.face->voice;
    const EyeSpacing whole = {1, 1};
    Status status =
        eye_axis_init(&c->x, v->filling.columns,
                      eye_degrees(view->cell_width_mm, view->distance_mm), whole, fault);
    if (!status)
        status = eye_axis_init(&c->y, rows, eye_degrees(view->cell_height_mm, view->distance_mm),
                               whole, fault);
    if (!status) status = compare_init(c, fault);
    if (!status) status = side_fill(&v->filling, rows, c->threads, fault);
    find_neutral(v->neutral);
    if (!status) bands_run_until(voice, c->threads, rows, 16, take_neutral_rows, v);
    if (!status) bands_run_until(voice, c->threads, rows, 4, view_rows, v);
    compare_clear(c);
    return status;
}

Status eye_view_rows(const EyeRows *face, int columns, int rows, const Viewpoint *view, int threads,
                     Fault *fault)
{
    assert(view->cell_width_mm > 0.0 && view->cell_height_mm > 0.0 && view->distance_mm >= 0.0);
    EyeSide side = {0};
    View v = {.filling = {.face = face, .columns = columns, .side = &side},
              .compare = {.threads = bands_threads(threads)}};
    const size_t lines = (size_t)v.compare.threads * (size_t)columns;
    v.filling.line = memory_create(lines, 3 * sizeof(float));
    if (!v.filling.line) return memory_fault(fault, lines, 3 * sizeof(float));
    Status status = STATUS_OK;
    if (view->distance_mm > 0.0)
        status = view_blurred(&v, rows, view, fault);
    else
        bands_run_until(face->voice, v.compare.threads, rows, 16, pass_rows, &v);
    eye_side_clear(&side);
    memory_free(v.filling.line);
    return status;
}

/* From one image to another. */
typedef struct Exchange {
    Image from, to;
} Exchange;

static const float *give_image_row(void *context, int row, float *line)
{
    return image_row(&((Exchange *)context)->from, row, line);
}

static void take_image_row(void *context, int row, const float *xyz)
{
    const Image *to = &((Exchange *)context)->to;
    const size_t count = 3 * (size_t)to->columns;
    memcpy(to->xyz + (size_t)row * count, xyz, count * sizeof *xyz);
}

Status eye_view(const Image *face, const Viewpoint *view, int threads, Image *out, Fault *fault)
{
    Status status = image_init(out, face->columns, face->rows, fault);
    if (status) return status;
    Exchange exchange = {*face, *out};
    const EyeRows rows = {&exchange, give_image_row, take_image_row, NULL};
    status = eye_view_rows(&rows, face->columns, face->rows, view, threads, fault);
    if (status) image_clear(out);
    return status;
}
