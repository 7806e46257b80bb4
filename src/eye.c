#include "eye.h"

#include "bands.h"
#include "delta_e.h"
#include "memory.h"

#include <assert.h>
#include <math.h>
#include <string.h>

/* Zhang & Wandell's weights, scaled to add up to 1 in each plane. */
const EyePart eye_parts[EYE_PLANES][EYE_PARTS] = {
    {{0.921 / 0.918, 0.0283}, {0.105 / 0.918, 0.133}, {-0.108 / 0.918, 4.336}},
    {{0.531 / 0.861, 0.0392}, {0.330 / 0.861, 0.494}, {0.0, 0.0}},
    {{0.488 / 0.859, 0.0536}, {0.371 / 0.859, 0.386}, {0.0, 0.0}},
};

static const double opponent_from_xyz[3][3] = {{0.2787336, 0.7218031, -0.1065520},
                                               {-0.4487736, 0.2898056, 0.0771569},
                                               {0.0859513, -0.5899859, 0.5011089}};

void eye_from_xyz(Xyz c, double out[EYE_PLANES])
{
    for (int i = 0; i < 3; i++)
        out[i] = opponent_from_xyz[i][0] * c.x + opponent_from_xyz[i][1] * c.y +
                 opponent_from_xyz[i][2] * c.z;
}

Xyz eye_to_xyz(const double o[EYE_PLANES])
{
    /* The inverse of the matrix above. */
    return (Xyz){0.979596160445628 * o[0] - 1.534715701266441 * o[1] + 0.444597643304374 * o[2],
                 1.188977906742324 * o[0] + 0.7643549575179938 * o[1] + 0.1351257479112584 * o[2],
                 1.231833313924729 * o[0] + 1.163159259763651 * o[1] + 2.078407588800857 * o[2]};
}

double eye_degrees(double length_mm, double distance_mm)
{
    const double degrees = 180.0 / acos(-1.0);
    return distance_mm > 0.0 ? 2.0 * atan(length_mm / (2.0 * distance_mm)) * degrees : 180.0;
}

int eye_reach(double sigma, double cell_degrees, double offset, double support)
{
    /* Beyond 4.5 sigma lies 2e-10 of a part. */
    const double half = fmin(0.5 * support, 4.5 * sigma);
    return (int)ceil(half / cell_degrees + offset - 0.5);
}

void eye_taps(double sigma, double cell_degrees, double offset, double support, int reach,
              double *tap)
{
    const double half = 0.5 * support;
    double sum = 0.0;
    for (int k = -reach; k <= reach; k++) {
        double low = ((double)k - 0.5 - offset) * cell_degrees;
        double high = low + cell_degrees;
        low = fmax(low, -half);
        high = fmin(high, half);
        /* Differences of erf lose digits where both are near 1: mirror to the other tail. */
        double w = 0.0;
        if (high > low)
            w = low > 0.0 ? erfc(low / sigma) - erfc(high / sigma)
                          : erf(high / sigma) - erf(low / sigma);
        tap[k + reach] = w;
        sum += w;
    }
    for (int k = 0; k <= 2 * reach; k++) tap[k] /= sum;
}

enum { MOST_PER_CELL = 5, SAMPLES_PER_DEGREE = 28 };

EyeSpacing eye_spacing(double cell_degrees)
{
    const double per_cell = SAMPLES_PER_DEGREE * cell_degrees;
    if (per_cell > MOST_PER_CELL) return (EyeSpacing){MOST_PER_CELL, 1};
    if (per_cell > 1.0) return (EyeSpacing){(int)ceil(per_cell), 1};
    const double stride = floor(1.0 / per_cell);
    return (EyeSpacing){1, stride < GRID_MOST ? (int)stride : GRID_MOST};
}

int eye_axis_cell(const EyeAxis *axis, int sample)
{
    if (axis->spacing.stride == 1) return sample / axis->spacing.per_cell;
    const int first = sample * axis->spacing.stride;
    const int wide = sample == axis->samples - 1 ? axis->last : axis->spacing.stride;
    return first + (wide - 1) / 2;
}

static int axis_phase(const EyeAxis *axis, int sample)
{
    if (axis->spacing.stride == 1) return sample % axis->spacing.per_cell;
    return sample == axis->samples - 1;
}

/* How far a sample of this phase lies from the middle of its cell, in cells. */
static double phase_offset(const EyeAxis *axis, int phase)
{
    if (axis->spacing.stride == 1)
        return ((double)phase + 0.5) / (double)axis->spacing.per_cell - 0.5;
    const int wide = phase ? axis->last : axis->spacing.stride;
    return wide % 2 ? 0.0 : 0.5;
}

const double *eye_axis_taps(const EyeAxis *axis, int plane, int part, int sample)
{
    const int count = 2 * axis->reach[plane][part] + 1;
    return axis->taps[plane][part] + (size_t)axis_phase(axis, sample) * (size_t)count;
}

void eye_axis_clear(EyeAxis *axis)
{
    for (int p = 0; p < EYE_PLANES; p++)
        for (int i = 0; i < EYE_PARTS; i++) memory_free(axis->taps[p][i]);
    *axis = (EyeAxis){0};
}

Status eye_axis_init(EyeAxis *axis, int cells, double cell_degrees, EyeSpacing spacing,
                     Fault *fault)
{
    assert(cells > 0 && spacing.per_cell > 0 && spacing.stride > 0);
    *axis = (EyeAxis){.cells = cells, .spacing = spacing};
    axis->samples = spacing.stride == 1 ? cells * spacing.per_cell
                                        : (cells + spacing.stride - 1) / spacing.stride;
    axis->last = cells - (axis->samples - 1) * spacing.stride;
    const int phases = spacing.stride == 1 ? spacing.per_cell : 2;
    double farthest = 0.0;
    for (int phase = 0; phase < phases; phase++)
        farthest = fmax(farthest, fabs(phase_offset(axis, phase)));
    for (int p = 0; p < EYE_PLANES; p++)
        for (int i = 0; i < EYE_PARTS && eye_parts[p][i].weight != 0.0; i++) {
            const double sigma = eye_parts[p][i].sigma;
            const int reach = eye_reach(sigma, cell_degrees, farthest, EYE_SUPPORT);
            const size_t count = 2 * (size_t)reach + 1;
            double *taps = memory_create(count * (size_t)phases, sizeof(double));
            if (!taps) {
                eye_axis_clear(axis);
                return memory_fault(fault, count, sizeof(double));
            }
            axis->reach[p][i] = reach;
            axis->taps[p][i] = taps;
            for (int phase = 0; phase < phases; phase++)
                eye_taps(sigma, cell_degrees, phase_offset(axis, phase), EYE_SUPPORT, reach,
                         taps + (size_t)phase * count);
        }
    return STATUS_OK;
}

int eye_fold(int index, int cells)
{
    const int period = 2 * cells;
    int i = index % period;
    if (i < 0) i += period;
    return i < cells ? i : period - 1 - i;
}

static int widest_reach(const EyeAxis *axis)
{
    int most = 0;
    for (int p = 0; p < EYE_PLANES; p++)
        for (int i = 0; i < EYE_PARTS; i++)
            if (axis->reach[p][i] > most) most = axis->reach[p][i];
    return most;
}

size_t eye_blur_scratch(const EyeAxis *x) { return (size_t)x->cells + 2 * (size_t)widest_reach(x); }

/* One part of one plane, down the columns: line[reach + column]. */
static void blur_down(const EyeAxis *x, const EyeAxis *y, const float *plane, int p, int i,
                      int sample_row, double *line)
{
    const int columns = x->cells, reach = x->reach[p][i];
    const int deep = y->reach[p][i], row = eye_axis_cell(y, sample_row);
    const double *taps = eye_axis_taps(y, p, i, sample_row);
    double *inside = line + reach;
    memset(inside, 0, (size_t)columns * sizeof *inside);
    for (int k = -deep; k <= deep; k++) {
        const double w = taps[k + deep];
        const float *from = plane + (size_t)eye_fold(row + k, y->cells) * (size_t)columns;
        for (int column = 0; column < columns; column++) inside[column] += w * (double)from[column];
    }
    for (int k = 0; k < reach; k++) {
        line[k] = inside[eye_fold(k - reach, columns)];
        inside[columns + k] = inside[eye_fold(columns + k, columns)];
    }
}

/* The same, along the row: adds to out[sample]. */
static void blur_along(const EyeAxis *x, const double *line, int p, int i, double *out)
{
    const int count = 2 * x->reach[p][i] + 1;
    const double weight = eye_parts[p][i].weight;
    for (int sample = 0; sample < x->samples; sample++) {
        const double *taps = eye_axis_taps(x, p, i, sample);
        const double *from = line + eye_axis_cell(x, sample);
        double sum = 0.0;
        for (int k = 0; k < count; k++) sum += taps[k] * from[k];
        out[sample] += weight * sum;
    }
}

void eye_blur_row(const EyeAxis *x, const EyeAxis *y, const float *const plane[EYE_PLANES],
                  int sample_row, double *scratch, double *const out[EYE_PLANES])
{
    for (int p = 0; p < EYE_PLANES; p++) {
        memset(out[p], 0, (size_t)x->samples * sizeof *out[p]);
        for (int i = 0; i < EYE_PARTS && eye_parts[p][i].weight != 0.0; i++) {
            blur_down(x, y, plane[p], p, i, sample_row, scratch);
            blur_along(x, scratch, p, i, out[p]);
        }
    }
}

/* --- comparing ------------------------------------------------------------------------ */

/* Differences are counted in bins of 1/128, so that the 95th percentile needs no list
 * of all samples; the last bin takes what is above. */
enum { BINS_PER_UNIT = 128, BINS = 200 * BINS_PER_UNIT };

typedef struct Side {
    float *plane[EYE_PLANES];
} Side;

typedef struct Compare {
    EyeAxis x, y;
    const Image *image[2];
    Side side[2];
    bool near;       /* no blur */
    double *scratch; /* for each worker */
    size_t scratch_size;
    double *row_sum, *row_max; /* for each row of samples */
    float *cell;               /* sums by cell while samples are finer */
    size_t *bins;              /* for each worker */
} Compare;

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
    memory_free(c->scratch);
    memory_free(c->row_sum);
    memory_free(c->row_max);
    memory_free(c->bins);
}

/* Axes, planes and scratch for one face or two. */
static Status compare_init(Compare *c, const Image *first, const Image *second,
                           const Viewpoint *view, EyeSpacing sx, EyeSpacing sy, int threads,
                           Fault *fault)
{
    const size_t cells = (size_t)first->columns * (size_t)first->rows;
    c->image[0] = first;
    c->image[1] = second;
    Status status = eye_axis_init(&c->x, first->columns,
                                  eye_degrees(view->cell_width_mm, view->distance_mm), sx, fault);
    if (status) return status;
    status = eye_axis_init(&c->y, first->rows, eye_degrees(view->cell_height_mm, view->distance_mm),
                           sy, fault);
    if (status) return status;
    for (int s = 0; s < 2 && c->image[s]; s++)
        for (int p = 0; p < EYE_PLANES; p++) {
            c->side[s].plane[p] = memory_create(cells, sizeof(float));
            if (!c->side[s].plane[p]) return memory_fault(fault, cells, sizeof(float));
        }
    c->scratch_size = eye_blur_scratch(&c->x) + 2 * EYE_PLANES * (size_t)c->x.samples;
    const size_t rows = (size_t)c->y.samples, workers = (size_t)threads;
    c->scratch = memory_create(c->scratch_size * workers, sizeof(double));
    if (!c->scratch) return memory_fault(fault, c->scratch_size * workers, sizeof(double));
    c->row_sum = memory_create(rows, sizeof(double));
    c->row_max = memory_create(rows, sizeof(double));
    if (!c->row_sum || !c->row_max) return memory_fault(fault, rows, sizeof(double));
    c->bins = memory_create(workers * BINS, sizeof(size_t));
    if (!c->bins) return memory_fault(fault, workers * BINS, sizeof(size_t));
    bands_run(threads, first->rows, 16, side_rows, c);
    return STATUS_OK;
}

/* The blurred planes of one side on a row of samples, as six rows after the scratch. */
static double *side_row(const Compare *c, int s, int sample_row, int worker, double *out[3])
{
    double *scratch = c->scratch + (size_t)worker * c->scratch_size;
    double *rows = scratch + eye_blur_scratch(&c->x);
    for (int p = 0; p < EYE_PLANES; p++)
        out[p] = rows + (size_t)(s * EYE_PLANES + p) * (size_t)c->x.samples;
    const float *plane[EYE_PLANES] = {c->side[s].plane[0], c->side[s].plane[1],
                                      c->side[s].plane[2]};
    eye_blur_row(&c->x, &c->y, plane, sample_row, scratch, out);
    return rows;
}

static Lab seen(double *const row[3], int sample)
{
    const double o[EYE_PLANES] = {row[0][sample], row[1][sample], row[2][sample]};
    return lab_from_xyz(eye_to_xyz(o));
}

static void count_difference(size_t *bins, double d)
{
    const double at = d * BINS_PER_UNIT;
    bins[at < BINS - 1 ? (int)at : BINS - 1]++;
}

/* The difference of one sample goes to every cell that it stands for. */
static void give_cells(const Compare *c, int sample, int sample_row, double d)
{
    const int columns = c->x.cells;
    const int sx = c->x.spacing.stride, sy = c->y.spacing.stride;
    const int px = c->x.spacing.per_cell, py = c->y.spacing.per_cell;
    const float share = (float)(d / (double)(px * py));
    const int first = sx == 1 ? sample / px : sample * sx;
    const int low = sy == 1 ? sample_row / py : sample_row * sy;
    for (int row = low; row < low + sy && row < c->y.cells; row++)
        for (int column = first; column < first + sx && column < columns; column++)
            c->cell[(size_t)row * (size_t)columns + (size_t)column] += share;
}

/* All the samples of rows of cells (or strides) [begin, end): whole cells, so that no two
 * workers add to one cell. */
static void compare_rows(void *context, int begin, int end, int worker)
{
    Compare *c = context;
    const int per = c->y.spacing.per_cell;
    size_t *bins = c->bins + (size_t)worker * BINS;
    for (int row = begin * per; row < end * per; row++) {
        double *reference[3], *face[3], sum = 0.0, most = 0.0;
        if (!c->near) {
            side_row(c, 0, row, worker, reference);
            side_row(c, 1, row, worker, face);
        }
        for (int i = 0; i < c->x.samples; i++) {
            const double d = c->near ? delta_e_2000(lab_from_xyz(image_at(c->image[0], i, row)),
                                                    lab_from_xyz(image_at(c->image[1], i, row)))
                                     : delta_e_2000(seen(reference, i), seen(face, i));
            sum += d;
            if (d > most) most = d;
            count_difference(bins, d);
            if (c->cell) give_cells(c, i, row, d);
        }
        c->row_sum[row] = sum;
        c->row_max[row] = most;
    }
}

static double percentile(size_t *bins, int workers, double share)
{
    size_t total = 0, below = 0;
    for (int b = 0; b < BINS; b++) {
        for (int w = 1; w < workers; w++) bins[b] += bins[(size_t)w * BINS + (size_t)b];
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

Status eye_compare(const Image *reference, const Image *face, const Viewpoint *view, int threads,
                   EyeResult *result, float *cell_out, Fault *fault)
{
    assert(reference->columns == face->columns && reference->rows == face->rows);
    assert(view->cell_width_mm > 0.0 && view->cell_height_mm > 0.0 && view->distance_mm >= 0.0);
    if (threads < 1) threads = 1;
    if (threads > BANDS_MOST_THREADS) threads = BANDS_MOST_THREADS;
    Compare c = {.near = view->distance_mm <= 0.0, .cell = cell_out};
    const EyeSpacing whole = {1, 1};
    Status status = compare_init(
        &c, reference, face, view,
        c.near ? whole : eye_spacing(eye_degrees(view->cell_width_mm, view->distance_mm)),
        c.near ? whole : eye_spacing(eye_degrees(view->cell_height_mm, view->distance_mm)), threads,
        fault);
    if (status == STATUS_OK) {
        if (cell_out)
            memset(cell_out, 0,
                   (size_t)reference->columns * (size_t)reference->rows * sizeof *cell_out);
        const int per = c.y.spacing.per_cell;
        bands_run(threads, c.y.samples / per, 1, compare_rows, &c);
        double sum = 0.0, most = 0.0;
        for (int row = 0; row < c.y.samples; row++) {
            sum += c.row_sum[row];
            most = fmax(most, c.row_max[row]);
        }
        *result = (EyeResult){.mean = sum / ((double)c.x.samples * (double)c.y.samples),
                              .p95 = fmin(percentile(c.bins, threads, 0.95), most),
                              .max = most};
    }
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
    for (int row = begin; row < end; row++) {
        double *plane[3];
        side_row(&v->compare, 0, row, worker, plane);
        float *to = v->out->xyz + 3 * (size_t)row * (size_t)v->out->columns;
        for (int i = 0; i < v->out->columns; i++) {
            const double o[EYE_PLANES] = {plane[0][i], plane[1][i], plane[2][i]};
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
    if (threads < 1) threads = 1;
    if (threads > BANDS_MOST_THREADS) threads = BANDS_MOST_THREADS;
    Status status = image_init(out, face->columns, face->rows, fault);
    if (status) return status;
    if (view->distance_mm <= 0.0) {
        memcpy(out->xyz, face->xyz,
               3 * (size_t)face->columns * (size_t)face->rows * sizeof *out->xyz);
        return STATUS_OK;
    }
    View v = {.out = out};
    const EyeSpacing whole = {1, 1};
    status = compare_init(&v.compare, face, NULL, view, whole, whole, threads, fault);
    if (status == STATUS_OK) bands_run(threads, out->rows, 4, view_rows, &v);
    compare_clear(&v.compare);
    if (status) image_clear(out);
    return status;
}
