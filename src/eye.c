#include "eye.h"

#include "bands.h"
#include "lab_four.h"
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

/* Samples a degree: over wide cells as a whole, and where their edges are. */
enum { SAMPLES_PER_DEGREE = 27, EDGE_PER_DEGREE = 28, MOST_FOR_MEAN = 7 };

EyeSpacing eye_spacing(double cell_degrees)
{
    const double per_cell = SAMPLES_PER_DEGREE * cell_degrees;
    if (per_cell > MOST_FOR_MEAN) return (EyeSpacing){MOST_FOR_MEAN, 1};
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

int eye_axis_phase(const EyeAxis *axis, int sample)
{
    if (axis->spacing.stride == 1) return sample % axis->spacing.per_cell;
    return sample == axis->samples - 1;
}

const double *eye_axis_taps(const EyeAxis *axis, int plane, int part, int sample)
{
    const int count = 2 * axis->reach[plane][part] + 1;
    return axis->taps[plane][part] + (size_t)eye_axis_phase(axis, sample) * (size_t)count;
}

void eye_axis_clear(EyeAxis *axis)
{
    for (int p = 0; p < EYE_PLANES; p++)
        for (int i = 0; i < EYE_PARTS; i++) memory_free(axis->taps[p][i]);
    *axis = (EyeAxis){0};
}

static int phases(const EyeAxis *axis)
{
    return axis->spacing.stride == 1 ? axis->spacing.per_cell : 2;
}

static void space_evenly(EyeAxis *axis)
{
    const int n = axis->spacing.per_cell;
    for (int phase = 0; phase < n; phase++) {
        axis->offset[phase] = ((double)phase + 0.5) / (double)n - 0.5;
        axis->share[phase] = 1.0 / (double)n;
    }
    for (int phase = 0; phase < 2 && axis->spacing.stride > 1; phase++) {
        const int wide = phase ? axis->last : axis->spacing.stride;
        axis->offset[phase] = wide % 2 ? 0.0 : 0.5;
        axis->share[phase] = wide;
    }
}

/* Where samples are too few for the edges of the cells, they are drawn toward them by
 * x = u - a / (2 pi) sin(2 pi u), the same in each cell. Even steps of a smooth periodic
 * map keep the accuracy that even samples have for a blurred face. */
static void space_for_mean(EyeAxis *axis, double cell_degrees)
{
    const double turn = 2.0 * acos(-1.0), most = 0.7;
    const int n = axis->spacing.per_cell;
    const double lack = n > 1 ? 1.0 - (double)n / (EDGE_PER_DEGREE * cell_degrees) : 0.0;
    const double a = fmin(fmax(lack, 0.0), most);
    for (int phase = 0; phase < n; phase++) {
        const double u = ((double)phase + 0.5) / (double)n;
        axis->offset[phase] = u - a / turn * sin(turn * u) - 0.5;
        axis->share[phase] = (1.0 - a * cos(turn * u)) / (double)n;
    }
}

/* The taps of every phase, where the samples' places are known. */
static Status fill_taps(EyeAxis *axis, double cell_degrees, Fault *fault)
{
    double farthest = 0.0;
    for (int phase = 0; phase < phases(axis); phase++)
        farthest = fmax(farthest, fabs(axis->offset[phase]));
    for (int p = 0; p < EYE_PLANES; p++)
        for (int i = 0; i < EYE_PARTS && eye_parts[p][i].weight != 0.0; i++) {
            const double sigma = eye_parts[p][i].sigma;
            const int reach = eye_reach(sigma, cell_degrees, farthest, EYE_SUPPORT);
            const size_t count = 2 * (size_t)reach + 1;
            double *taps = memory_create(count * (size_t)phases(axis), sizeof(double));
            if (!taps) {
                eye_axis_clear(axis);
                return memory_fault(fault, count, sizeof(double));
            }
            axis->reach[p][i] = reach;
            axis->taps[p][i] = taps;
            for (int phase = 0; phase < phases(axis); phase++)
                eye_taps(sigma, cell_degrees, axis->offset[phase], EYE_SUPPORT, reach,
                         taps + (size_t)phase * count);
        }
    return STATUS_OK;
}

static EyeAxis axis_of(int cells, EyeSpacing spacing)
{
    assert(cells > 0 && spacing.per_cell > 0 && spacing.stride > 0);
    assert(spacing.per_cell <= EYE_MOST_PER_CELL);
    EyeAxis axis = {.cells = cells, .spacing = spacing};
    axis.samples = spacing.stride == 1 ? cells * spacing.per_cell
                                       : (cells + spacing.stride - 1) / spacing.stride;
    axis.last = cells - (axis.samples - 1) * spacing.stride;
    space_evenly(&axis);
    return axis;
}

Status eye_axis_init(EyeAxis *axis, int cells, double cell_degrees, EyeSpacing spacing,
                     Fault *fault)
{
    *axis = axis_of(cells, spacing);
    return fill_taps(axis, cell_degrees, fault);
}

Status eye_axis_init_mean(EyeAxis *axis, int cells, double cell_degrees, EyeSpacing spacing,
                          Fault *fault)
{
    *axis = axis_of(cells, spacing);
    if (spacing.stride == 1) space_for_mean(axis, cell_degrees);
    return fill_taps(axis, cell_degrees, fault);
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

/* Two doubles at any address, and two floats. */
typedef double Two __attribute__((vector_size(16), aligned(8), may_alias));
typedef float TwoFloats __attribute__((vector_size(8), aligned(4), may_alias));

static Two two(double x) { return (Two){x, x}; }
static Two two_at(const double *p) { return *(const Two *)p; }
static Two two_from(const float *p)
{
    return (Two) __builtin_convertvector(*(const TwoFloats *)p, Two);
}

/* Cells of one phase that are blurred at once. */
enum { BLOCK = 8 };

static size_t line_size(const EyeAxis *x)
{
    return (size_t)x->cells + 2 * (size_t)widest_reach(x) + BLOCK;
}

size_t eye_blur_scratch(const EyeAxis *x) { return EYE_PARTS * line_size(x); }

/* Adds four rows, each with its weight. */
static void add_rows(const float *const row[4], const double weight[4], int columns, double *to)
{
    const Two w0 = two(weight[0]), w1 = two(weight[1]), w2 = two(weight[2]), w3 = two(weight[3]);
    int c = 0;
    for (; c + 2 <= columns; c += 2)
        *(Two *)(to + c) += (w0 * two_from(row[0] + c) + w1 * two_from(row[1] + c)) +
                            (w2 * two_from(row[2] + c) + w3 * two_from(row[3] + c));
    for (; c < columns; c++)
        to[c] += (weight[0] * (double)row[0][c] + weight[1] * (double)row[1][c]) +
                 (weight[2] * (double)row[2][c] + weight[3] * (double)row[3][c]);
}

/* One part of one plane, down the columns, with its weight: line[reach + column]. */
static void blur_down(const EyeAxis *x, const EyeAxis *y, const float *plane, int p, int i,
                      int sample_row, double *line)
{
    const int columns = x->cells, reach = x->reach[p][i];
    const int deep = y->reach[p][i], row = eye_axis_cell(y, sample_row);
    const double *taps = eye_axis_taps(y, p, i, sample_row);
    double *inside = line + reach;
    memset(inside, 0, (size_t)columns * sizeof *inside);
    for (int first = -deep; first <= deep; first += 4) {
        const float *from[4];
        double weight[4] = {0.0};
        for (int j = 0; j < 4; j++) {
            const int k = first + j <= deep ? first + j : deep;
            from[j] = plane + (size_t)eye_fold(row + k, y->cells) * (size_t)columns;
            if (first + j <= deep) weight[j] = eye_parts[p][i].weight * taps[k + deep];
        }
        add_rows(from, weight, columns, inside);
    }
    for (int k = 0; k < reach; k++) {
        line[k] = inside[eye_fold(k - reach, columns)];
        inside[columns + k] = inside[eye_fold(columns + k, columns)];
    }
}

/* The sum of the parts for samples of one phase in BLOCK cells from `cell` on. */
static void blur_block(const EyeAxis *x, const double *line, int p, int phase, int cell,
                       double out[BLOCK])
{
    Two s0 = {0.0, 0.0}, s1 = s0, s2 = s0, s3 = s0;
    for (int i = 0; i < EYE_PARTS && x->taps[p][i]; i++, line += line_size(x)) {
        const int count = 2 * x->reach[p][i] + 1;
        const double *taps = x->taps[p][i] + (size_t)phase * (size_t)count;
        const double *from = line + cell;
        for (int k = 0; k < count; k++, from++) {
            const Two w = two(taps[k]);
            s0 += w * two_at(from);
            s1 += w * two_at(from + 2);
            s2 += w * two_at(from + 4);
            s3 += w * two_at(from + 6);
        }
    }
    *(Two *)out = s0;
    *(Two *)(out + 2) = s1;
    *(Two *)(out + 4) = s2;
    *(Two *)(out + 6) = s3;
}

/* The parts' lines, along the row. Samples of one phase have the same taps, so cells that
 * follow one another go side by side. */
static void blur_cells(const EyeAxis *x, const double *line, int p, double *out)
{
    const int per = x->spacing.per_cell;
    for (int phase = 0; phase < per; phase++)
        for (int cell = 0; cell < x->cells; cell += BLOCK) {
            double block[BLOCK];
            blur_block(x, line, p, phase, cell, block);
            for (int j = 0; j < BLOCK && cell + j < x->cells; j++)
                out[(cell + j) * per + phase] = block[j];
        }
}

/* The same where samples are far apart: here the taps are many. */
static void blur_strides(const EyeAxis *x, const double *line, int p, double *out)
{
    for (int sample = 0; sample < x->samples; sample++) {
        Two s0 = {0.0, 0.0}, s1 = s0;
        double rest = 0.0;
        for (int i = 0; i < EYE_PARTS && x->taps[p][i]; i++) {
            const int count = 2 * x->reach[p][i] + 1;
            const double *taps = eye_axis_taps(x, p, i, sample);
            const double *from = line + (size_t)i * line_size(x) + eye_axis_cell(x, sample);
            int k = 0;
            for (; k + 4 <= count; k += 4) {
                s0 += two_at(taps + k) * two_at(from + k);
                s1 += two_at(taps + k + 2) * two_at(from + k + 2);
            }
            for (; k < count; k++) rest += taps[k] * from[k];
        }
        s0 += s1;
        out[sample] = s0[0] + s0[1] + rest;
    }
}

void eye_blur_row(const EyeAxis *x, const EyeAxis *y, const float *const plane[EYE_PLANES],
                  int sample_row, double *scratch, double *const out[EYE_PLANES])
{
    for (int p = 0; p < EYE_PLANES; p++) {
        for (int i = 0; i < EYE_PARTS && x->taps[p][i]; i++)
            blur_down(x, y, plane[p], p, i, sample_row, scratch + (size_t)i * line_size(x));
        if (x->spacing.stride == 1)
            blur_cells(x, scratch, p, out[p]);
        else
            blur_strides(x, scratch, p, out[p]);
    }
}

/* --- comparing ------------------------------------------------------------------------ */

/* Shares of the face are counted in bins of 1/128 of a difference, so that the 95th
 * percentile needs no list of all samples; the last bin takes what is above. Shares are
 * whole numbers, PART to a cell each way: their sums are the same in any order. */
enum { BINS_PER_UNIT = 128, BINS = 200 * BINS_PER_UNIT, PART = 4096 };

typedef struct Side {
    float *plane[EYE_PLANES];
} Side;

/* What belongs to one worker. */
typedef struct Desk {
    double *line;                /* eye_blur_scratch */
    double *seen[2][EYE_PLANES]; /* the blurred planes on a row of samples */
    float *difference;           /* on that row */
    uint64_t *bins;
} Desk;

typedef struct Compare {
    EyeAxis x, y;
    const Image *image[2]; /* the second is NULL for a view of one face */
    Side side[2];
    bool near; /* no blur */
    int threads;
    Desk *desk;                /* for each worker */
    double *row_sum, *row_max; /* for each row of samples */
    float *cell;               /* sums by cell while samples are finer */
    Quick quick;
} Compare;

/* Lanes that are computed four at a time may run over the end of a row. */
static size_t row_size(const Compare *c) { return (size_t)c->x.samples + QUICK_LANES; }

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
        memory_free(c->desk[w].line);
        memory_free(c->desk[w].seen[0][0]);
        memory_free(c->desk[w].difference);
        memory_free(c->desk[w].bins);
    }
    memory_free(c->desk);
    memory_free(c->row_sum);
    memory_free(c->row_max);
}

static Status desk_init(const Compare *c, Desk *desk, Fault *fault)
{
    const size_t rows = c->image[1] ? 2 * EYE_PLANES : EYE_PLANES;
    desk->line = memory_create(eye_blur_scratch(&c->x), sizeof(double));
    desk->seen[0][0] = memory_create(rows * row_size(c), sizeof(double));
    if (!desk->line || !desk->seen[0][0]) return memory_fault(fault, row_size(c), sizeof(double));
    for (size_t i = 0; i < rows; i++)
        desk->seen[i / EYE_PLANES][i % EYE_PLANES] = desk->seen[0][0] + i * row_size(c);
    if (!c->image[1]) return STATUS_OK;
    desk->difference = memory_create(row_size(c), sizeof(float));
    desk->bins = memory_create(BINS, sizeof *desk->bins);
    return desk->difference && desk->bins ? STATUS_OK
                                          : memory_fault(fault, BINS, sizeof *desk->bins);
}

/* Planes and scratch for one face or two, where the axes are known. */
static Status compare_init(Compare *c, Fault *fault)
{
    const size_t cells = (size_t)c->x.cells * (size_t)c->y.cells;
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
    eye_blur_row(&c->x, &c->y, plane, sample_row, desk->line, desk->seen[s]);
}

/* Lab of four samples from opponent values. */
static QuickFour lab_seen(double *const row[EYE_PLANES], int sample)
{
    Four o[EYE_PLANES], xyz[3];
    for (int p = 0; p < EYE_PLANES; p++) {
        const double *v = row[p] + sample;
        o[p] = (Four){(float)v[0], (float)v[1], (float)v[2], (float)v[3]};
    }
    for (int k = 0; k < 3; k++)
        xyz[k] = (float)xyz_from_opponent[k][0] * o[0] + (float)xyz_from_opponent[k][1] * o[1] +
                 (float)xyz_from_opponent[k][2] * o[2];
    return lab_four(xyz[0], xyz[1], xyz[2]);
}

static QuickFour lab_side(const Compare *c, int s, int sample, int row, const Desk *desk)
{
    if (!c->near) return lab_seen(desk->seen[s], sample);
    const Image *image = c->image[s];
    return lab_four_from(image->xyz + 3 * ((size_t)row * (size_t)image->columns + (size_t)sample),
                         image->columns - sample);
}

static void difference_row(const Compare *c, int row, const Desk *desk)
{
    for (int s = 0; s < 2 && !c->near; s++) blur_side(c, s, row, desk);
    for (int i = 0; i < c->x.samples; i += QUICK_LANES) {
        const QuickFour one = lab_side(c, 0, i, row, desk), two = lab_side(c, 1, i, row, desk);
        const Four d = lab_four_difference(&c->quick, &one, &two);
        memcpy(desk->difference + i, &d, sizeof d);
    }
}

static double axis_share(const EyeAxis *axis, int sample)
{
    return axis->share[eye_axis_phase(axis, sample)];
}

/* The samples of one phase on a row: they stand for the same share of the face. */
static void sum_phase(Compare *c, int row, int phase, const Desk *desk)
{
    const bool strides = c->x.spacing.stride > 1;
    const int samples = c->x.samples, step = strides ? 1 : c->x.spacing.per_cell;
    const int first = strides && phase ? samples - 1 : phase;
    const int end = strides && !phase ? samples - 1 : samples;
    const uint64_t part = (uint64_t)llround(c->x.share[phase] * PART) *
                          (uint64_t)llround(axis_share(&c->y, row) * PART);
    double sum = 0.0, most = c->row_max[row];
    for (int i = first; i < end; i += step) {
        const double d = (double)desk->difference[i], at = d * BINS_PER_UNIT;
        sum += d;
        if (d > most) most = d;
        desk->bins[at < BINS - 1 ? (int)at : BINS - 1] += part;
    }
    c->row_sum[row] += c->x.share[phase] * sum;
    c->row_max[row] = most;
}

/* The differences of a row go to the cells that its samples stand for. */
static void give_cells(const Compare *c, int row, const Desk *desk)
{
    const int columns = c->x.cells, sx = c->x.spacing.stride, sy = c->y.spacing.stride;
    const int low = sy == 1 ? row / c->y.spacing.per_cell : row * sy;
    const double up = fmin(axis_share(&c->y, row), 1.0);
    for (int i = 0; i < c->x.samples; i++) {
        const int left = sx == 1 ? i / c->x.spacing.per_cell : i * sx;
        const double share = up * fmin(axis_share(&c->x, i), 1.0);
        for (int y = low; y < low + sy && y < c->y.cells; y++)
            for (int x = left; x < left + sx && x < columns; x++)
                c->cell[(size_t)y * (size_t)columns + (size_t)x] +=
                    (float)(share * (double)desk->difference[i]);
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
        difference_row(c, row, desk);
        for (int phase = 0; phase < phases(&c->x); phase++) sum_phase(c, row, phase, desk);
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
            const double o[EYE_PLANES] = {desk->seen[0][0][i], desk->seen[0][1][i],
                                          desk->seen[0][2][i]};
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
