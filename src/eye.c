#include "eye.h"

#include "bands.h"
#include "delta_e.h"
#include "eye_blur.h"
#include "lab_row.h"
#include "memory.h"

#include <assert.h>
#include <math.h>
#include <string.h>

static const double opponent_from_xyz[3][3] = {{0.2787336, 0.7218031, -0.1065520},
                                               {-0.4487736, 0.2898056, 0.0771569},
                                               {0.0859513, -0.5899859, 0.5011089}};

/* Its inverse. */
static const double xyz_from_opponent[3][3] = {
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
        xyz[i] = xyz_from_opponent[i][0] * o[0] + xyz_from_opponent[i][1] * o[1] +
                 xyz_from_opponent[i][2] * o[2];
    return (Xyz){xyz[0], xyz[1], xyz[2]};
}

/* --- comparing ------------------------------------------------------------------------ */

/* Shares of the face are counted in bins of 1/128 of a difference, so that the 95th
 * percentile needs no list of all samples; the last bin takes what is above. Shares are
 * whole numbers, PART to a cell each way: their sums are the same in any order. */
enum { BINS_PER_UNIT = 128, BINS = 200 * BINS_PER_UNIT, PART = 4096 };

typedef struct Side {
    float *plane[EYE_PLANES];
} Side;

/* What belongs to one worker: a row of samples. */
typedef struct Desk {
    float *line;              /* eye_runs_scratch */
    float *plane[EYE_PLANES]; /* blurred */
    LabRow colour[2];         /* of each side */
    float *difference;
    uint64_t *bins;
} Desk;

typedef struct Compare {
    EyeAxis x, y;
    EyeRuns runs;
    const Image *image[2]; /* the second is NULL for a view of one face */
    Side side[2];
    bool near; /* no blur */
    int threads;
    Desk *desk;                /* for each worker */
    double *row_sum, *row_max; /* for each row of samples */
    float *cell;               /* sums by cell while samples are finer */
    Quick quick;
} Compare;

static size_t row_size(const Compare *c) { return (size_t)c->runs.runs * (size_t)c->runs.pitch; }

static void side_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    Compare *c = context;
    for (int s = 0; s < 2; s++)
        for (int row = begin; row < end && c->image[s]; row++)
            for (int column = 0; column < c->image[s]->columns; column++) {
                double o[EYE_PLANES];
                eye_from_xyz(image_at(c->image[s], column, row), o);
                const size_t at = (size_t)row * (size_t)c->image[s]->columns + (size_t)column;
                for (int p = 0; p < EYE_PLANES; p++) c->side[s].plane[p][at] = (float)o[p];
            }
}

static void compare_clear(Compare *c)
{
    eye_axis_clear(&c->x);
    eye_axis_clear(&c->y);
    for (int s = 0; s < 2; s++)
        for (int p = 0; p < EYE_PLANES; p++) memory_free(c->side[s].plane[p]);
    for (int w = 0; w < c->threads && c->desk; w++) {
        const Desk *desk = &c->desk[w];
        memory_free(desk->line);
        memory_free(desk->plane[0]);
        memory_free(desk->colour[0].L);
        memory_free(desk->colour[1].L);
        memory_free(desk->difference);
        memory_free(desk->bins);
    }
    memory_free(c->desk);
    memory_free(c->row_sum);
    memory_free(c->row_max);
}

static Status desk_init(const Compare *c, Desk *desk, Fault *fault)
{
    const size_t row = row_size(c);
    desk->line = memory_create(eye_runs_scratch(&c->x), sizeof(float));
    desk->plane[0] = memory_create(EYE_PLANES * row, sizeof(float));
    if (!desk->line || !desk->plane[0]) return memory_fault(fault, row, sizeof(float));
    for (int p = 1; p < EYE_PLANES; p++) desk->plane[p] = desk->plane[p - 1] + row;
    if (!c->image[1]) return STATUS_OK;
    for (int s = 0; s < 2; s++) {
        float *lab = memory_create(3 * row, sizeof(float));
        if (!lab) return memory_fault(fault, 3 * row, sizeof(float));
        desk->colour[s] = (LabRow){lab, lab + row, lab + 2 * row};
    }
    desk->difference = memory_create(row, sizeof(float));
    desk->bins = memory_create(BINS, sizeof *desk->bins);
    return desk->difference && desk->bins ? STATUS_OK
                                          : memory_fault(fault, BINS, sizeof *desk->bins);
}

/* Planes and scratch for one face or two, where the axes are known. */
static Status compare_init(Compare *c, Fault *fault)
{
    const size_t cells = (size_t)c->x.cells * (size_t)c->y.cells;
    c->runs = eye_runs(&c->x);
    for (int s = 0; s < 2 && c->image[s] && !c->near; s++)
        for (int p = 0; p < EYE_PLANES; p++) {
            c->side[s].plane[p] = memory_create(cells, sizeof(float));
            if (!c->side[s].plane[p]) return memory_fault(fault, cells, sizeof(float));
        }
    c->desk = memory_create((size_t)c->threads, sizeof *c->desk);
    if (!c->desk) return memory_fault(fault, (size_t)c->threads, sizeof *c->desk);
    for (int w = 0; w < c->threads; w++) {
        const Status status = desk_init(c, &c->desk[w], fault);
        if (status) return status;
    }
    const size_t rows = (size_t)c->y.samples;
    c->row_sum = memory_create(rows, sizeof(double));
    c->row_max = memory_create(rows, sizeof(double));
    if (!c->row_sum || !c->row_max) return memory_fault(fault, rows, sizeof(double));
    if (!c->near) bands_run(c->threads, c->y.cells, 16, side_rows, c);
    return STATUS_OK;
}

/* The blurred planes of one side on a row of samples, on the worker's desk. */
static void blur_side(const Compare *c, int s, int sample_row, const Desk *desk)
{
    const float *plane[EYE_PLANES] = {c->side[s].plane[0], c->side[s].plane[1],
                                      c->side[s].plane[2]};
    eye_blur_runs(&c->x, &c->y, plane, sample_row, desk->line, desk->plane);
}

static void compare_colours(const Compare *c, const Desk *desk)
{
    lab_row_differences(&c->quick, &desk->colour[0], &desk->colour[1], (int)row_size(c),
                        desk->difference);
}

static void difference_row(const Compare *c, int row, const Desk *desk)
{
    const float *const plane[EYE_PLANES] = {desk->plane[0], desk->plane[1], desk->plane[2]};
    for (int s = 0; s < 2; s++) {
        blur_side(c, s, row, desk);
        lab_row(xyz_from_opponent, plane, (int)row_size(c), &desk->colour[s]);
    }
    compare_colours(c, desk);
}

/* No blur: the samples are the cells. The greatest difference is told to more digits than
 * single precision gives, so those of a row that may be it are worked out anew. */
static void near_row(const Compare *c, int row, const Desk *desk)
{
    static const double same[3][3] = {{1.0, 0.0, 0.0}, {0.0, 1.0, 0.0}, {0.0, 0.0, 1.0}};
    const float *const plane[3] = {desk->plane[0], desk->plane[1], desk->plane[2]};
    const int columns = c->x.cells;
    for (int s = 0; s < 2; s++) {
        const float *xyz = c->image[s]->xyz + 3 * (size_t)row * (size_t)columns;
        for (int i = 0; i < columns; i++, xyz += 3)
            for (int k = 0; k < 3; k++) desk->plane[k][i] = xyz[k];
        lab_row(same, plane, (int)row_size(c), &desk->colour[s]);
    }
    compare_colours(c, desk);
    float most = 0.0f;
    for (int i = 0; i < columns; i++)
        if (desk->difference[i] > most) most = desk->difference[i];
    for (int i = 0; i < columns; i++)
        if (desk->difference[i] > most - 0.01f)
            desk->difference[i] = (float)delta_e_2000(lab_from_xyz(image_at(c->image[0], i, row)),
                                                      lab_from_xyz(image_at(c->image[1], i, row)));
}

static double axis_share(const EyeAxis *axis, int sample)
{
    return axis->share[eye_axis_phase(axis, sample)];
}

/* The samples of one run that stand for the same share of the face. */
static void sum_samples(Compare *c, int row, const float *difference, int count, double share,
                        uint64_t *bins)
{
    const uint64_t part =
        (uint64_t)llround(share * PART) * (uint64_t)llround(axis_share(&c->y, row) * PART);
    double sum = 0.0, most = c->row_max[row];
    for (int i = 0; i < count; i++) {
        const double d = (double)difference[i], at = d * BINS_PER_UNIT;
        sum += d;
        if (d > most) most = d;
        bins[at < BINS - 1 ? (int)at : BINS - 1] += part;
    }
    c->row_sum[row] += share * sum;
    c->row_max[row] = most;
}

static void sum_row(Compare *c, int row, const Desk *desk)
{
    const float *d = desk->difference;
    const double *share = c->x.share;
    if (c->x.spacing.stride == 1) {
        for (int run = 0; run < c->runs.runs; run++, d += c->runs.pitch)
            sum_samples(c, row, d, c->runs.samples, share[run], desk->bins);
    } else {
        const int last = c->runs.samples - 1;
        sum_samples(c, row, d, last, share[0], desk->bins);
        sum_samples(c, row, d + last, 1, share[1], desk->bins);
    }
}

/* The differences of a row go to the cells that its samples stand for. */
static void give_cells(const Compare *c, int row, const Desk *desk)
{
    const int columns = c->x.cells, sx = c->x.spacing.stride, sy = c->y.spacing.stride;
    const int low = sy == 1 ? row / c->y.spacing.per_cell : row * sy;
    const double up = fmin(axis_share(&c->y, row), 1.0);
    const float *d = desk->difference;
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
    const Desk *desk = &c->desk[worker];
    const int per = c->y.spacing.per_cell;
    for (int row = begin * per; row < end * per; row++) {
        if (c->near)
            near_row(c, row, desk);
        else
            difference_row(c, row, desk);
        sum_row(c, row, desk);
        if (c->cell) give_cells(c, row, desk);
    }
}

/* The difference that `share` of the face is below. */
static double percentile(const Compare *c, double share)
{
    uint64_t *bins = c->desk[0].bins, total = 0, below = 0;
    for (int b = 0; b < BINS; b++) {
        for (int w = 1; w < c->threads; w++) bins[b] += c->desk[w].bins[b];
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

static EyeResult compare_all(Compare *c)
{
    bands_run(c->threads, c->y.samples / c->y.spacing.per_cell, 1, compare_rows, c);
    double sum = 0.0, most = 0.0;
    for (int row = 0; row < c->y.samples; row++) {
        sum += axis_share(&c->y, row) * c->row_sum[row];
        most = fmax(most, c->row_max[row]);
    }
    return (EyeResult){.mean = sum / ((double)c->x.cells * (double)c->y.cells),
                       .p95 = fmin(percentile(c, 0.95), most),
                       .max = most};
}

static int threads_within(int threads)
{
    return threads < 1 ? 1 : threads > BANDS_MOST_THREADS ? BANDS_MOST_THREADS : threads;
}

/* An axis of samples for a mean. */
static Status mean_axis(EyeAxis *axis, int cells, double cell_mm, double distance_mm, Fault *fault)
{
    const double cell = eye_degrees(cell_mm, distance_mm);
    const EyeSpacing whole = {1, 1};
    return eye_axis_init_mean(axis, cells, cell, distance_mm > 0.0 ? eye_spacing(cell) : whole,
                              fault);
}

Status eye_compare(const Image *reference, const Image *face, const Viewpoint *view, int threads,
                   EyeResult *result, float *cell_out, Fault *fault)
{
    assert(reference->columns == face->columns && reference->rows == face->rows);
    assert(view->cell_width_mm > 0.0 && view->cell_height_mm > 0.0 && view->distance_mm >= 0.0);
    const int columns = face->columns, rows = face->rows;
    Compare c = {.image = {reference, face},
                 .near = view->distance_mm <= 0.0,
                 .threads = threads_within(threads),
                 .cell = cell_out};
    if (cell_out) memset(cell_out, 0, (size_t)columns * (size_t)rows * sizeof *cell_out);
    quick_init(&c.quick);
    Status status = mean_axis(&c.x, columns, view->cell_width_mm, view->distance_mm, fault);
    if (!status) status = mean_axis(&c.y, rows, view->cell_height_mm, view->distance_mm, fault);
    if (!status) status = compare_init(&c, fault);
    if (!status) *result = compare_all(&c);
    compare_clear(&c);
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
                   const Viewpoint *view, int threads, EyeResult *result, float *cell_out,
                   Fault *fault)
{
    Image face;
    Status status = eye_face(palette, grid, &face, fault);
    if (status) return status;
    status = eye_compare(reference, &face, view, threads, result, cell_out, fault);
    image_clear(&face);
    return status;
}

/* --- the face as seen ------------------------------------------------------------------ */

typedef struct View {
    Compare compare;
    Image *out;
} View;

static void view_rows(void *context, int begin, int end, int worker)
{
    const View *v = context;
    const Desk *desk = &v->compare.desk[worker];
    for (int row = begin; row < end; row++) {
        blur_side(&v->compare, 0, row, desk);
        float *to = v->out->xyz + 3 * (size_t)row * (size_t)v->out->columns;
        for (int i = 0; i < v->out->columns; i++) {
            const double o[EYE_PLANES] = {(double)desk->plane[0][i], (double)desk->plane[1][i],
                                          (double)desk->plane[2][i]};
            const Xyz c = eye_to_xyz(o);
            *to++ = (float)fmax(c.x, 0.0);
            *to++ = (float)fmax(c.y, 0.0);
            *to++ = (float)fmax(c.z, 0.0);
        }
    }
}

Status eye_view(const Image *face, const Viewpoint *view, int threads, Image *out, Fault *fault)
{
    assert(view->cell_width_mm > 0.0 && view->cell_height_mm > 0.0 && view->distance_mm >= 0.0);
    Status status = image_init(out, face->columns, face->rows, fault);
    if (status) return status;
    if (view->distance_mm <= 0.0) {
        memcpy(out->xyz, face->xyz,
               3 * (size_t)face->columns * (size_t)face->rows * sizeof *out->xyz);
        return STATUS_OK;
    }
    View v = {.compare = {.image = {face}, .threads = threads_within(threads)}, .out = out};
    Compare *c = &v.compare;
    const EyeSpacing whole = {1, 1};
    status = eye_axis_init(&c->x, face->columns,
                           eye_degrees(view->cell_width_mm, view->distance_mm), whole, fault);
    if (!status)
        status = eye_axis_init(&c->y, face->rows,
                               eye_degrees(view->cell_height_mm, view->distance_mm), whole, fault);
    if (!status) status = compare_init(c, fault);
    if (!status) bands_run(c->threads, out->rows, 4, view_rows, &v);
    compare_clear(c);
    if (status) image_clear(out);
    return status;
}
