/* The blur along one axis as weights on cells, worked out once for each place that a sample can
 * have in its cell (a phase): differences of the error function, which integrate a Gaussian over a
 * cell exactly. A blur in the plane is one along the columns, then one along the row.
 *
 * Invariants: the taps of a part add up to 1; the shares of all samples add up to the number of
 * cells. Kernels: Zhang & Wandell 1996 (see eye.h). */
#include "eye/eye_axis.h"

#include "base/memory.h"

#include <assert.h>
#include <math.h>
#include <string.h>

/* Zhang & Wandell's weights, scaled to add up to 1 in each plane. */
const EyePart eye_parts[EYE_PLANES][EYE_PARTS] = {
    {{0.921 / 0.918, 0.0283}, {0.105 / 0.918, 0.133}, {-0.108 / 0.918, 4.336}},
    {{0.531 / 0.861, 0.0392}, {0.330 / 0.861, 0.494}, {0.0, 0.0}},
    {{0.488 / 0.859, 0.0536}, {0.371 / 0.859, 0.386}, {0.0, 0.0}},
};

double eye_degrees(double length_mm, double distance_mm)
{
    const double degrees = 180.0 / acos(-1.0);
    return distance_mm > 0.0 ? 2.0 * atan(length_mm / (2.0 * distance_mm)) * degrees : 180.0;
}

/* Beyond this many sigma lies 2e-10 of a part: erfc(4.5). */
#define REACH_IN_SIGMA 4.5

int eye_reach(double sigma, double cell_degrees, double offset, double support)
{
    const double half = fmin(0.5 * support, REACH_IN_SIGMA * sigma);
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

/* Samples a degree, and at the edges of cells that are wide to the eye: those have
 * EVEN_IN_CELL samples and half of what more it would take, as they are closer there.
 * tests/eye/test_eye_speed holds the means that these and DRAWN_MOST give against those of many
 * times as many samples. */
enum { SAMPLES_PER_DEGREE = 28, EDGE_PER_DEGREE = 30, EVEN_IN_CELL = 5 };

EyeSpacing eye_spacing(double cell_degrees)
{
    const double per_cell = SAMPLES_PER_DEGREE * cell_degrees;
    const double drawn = round(0.5 * (per_cell + EVEN_IN_CELL));
    if (per_cell > EVEN_IN_CELL) return (EyeSpacing){(int)fmin(drawn, EYE_MOST_PER_CELL), 1};
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

int eye_axis_phases(const EyeAxis *axis)
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

/* How far samples are drawn to a cell's edges at most: at 1 two of them would meet. */
#define DRAWN_MOST 0.7

/* Where samples are too few for the edges of the cells, they are drawn toward them by
 * x = u - a / (2 pi) sin(2 pi u), the same in each cell. Even steps of a smooth periodic
 * map keep the accuracy that even samples have for a blurred face. */
static void space_for_mean(EyeAxis *axis, double cell_degrees)
{
    const double turn = 2.0 * acos(-1.0);
    const int n = axis->spacing.per_cell;
    const double lack = n > 1 ? 1.0 - (double)n / (EDGE_PER_DEGREE * cell_degrees) : 0.0;
    const double a = fmin(fmax(lack, 0.0), DRAWN_MOST);
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
    for (int phase = 0; phase < eye_axis_phases(axis); phase++)
        farthest = fmax(farthest, fabs(axis->offset[phase]));
    for (int p = 0; p < EYE_PLANES; p++)
        for (int i = 0; i < EYE_PARTS && eye_parts[p][i].weight != 0.0; i++) {
            const double sigma = eye_parts[p][i].sigma;
            const int reach = eye_reach(sigma, cell_degrees, farthest, EYE_SUPPORT);
            const size_t count = 2 * (size_t)reach + 1;
            double *taps = memory_create(count * (size_t)eye_axis_phases(axis), sizeof(double));
            if (!taps) {
                eye_axis_clear(axis);
                return memory_fault(fault, count, sizeof(double));
            }
            axis->reach[p][i] = reach;
            axis->taps[p][i] = taps;
            for (int phase = 0; phase < eye_axis_phases(axis); phase++)
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

EyeColumnTaps eye_column_taps(const EyeAxis *y, int plane, int part, int sample_row)
{
    return (EyeColumnTaps){.taps = eye_axis_taps(y, plane, part, sample_row),
                           .reach = y->reach[plane][part],
                           .row = eye_axis_cell(y, sample_row),
                           .rows = y->cells};
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
static void part_down_columns(const EyeAxis *x, const float *plane, const EyeColumnTaps *down,
                              int reach, double *line)
{
    const int columns = x->cells, deep = down->reach;
    double *inside = line + reach;
    memset(inside, 0, (size_t)columns * sizeof *inside);
    for (int k = -deep; k <= deep; k++) {
        const double w = down->taps[k + deep];
        const float *from = plane + (size_t)eye_fold(down->row + k, down->rows) * (size_t)columns;
        for (int column = 0; column < columns; column++) inside[column] += w * (double)from[column];
    }
    for (int k = 0; k < reach; k++) {
        line[k] = inside[eye_fold(k - reach, columns)];
        inside[columns + k] = inside[eye_fold(columns + k, columns)];
    }
}

/* The same, along the row: adds to out[sample]. */
static void part_along_row(const EyeAxis *x, const double *line, int p, int i, double *out)
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
            const EyeColumnTaps down = eye_column_taps(y, p, i, sample_row);
            part_down_columns(x, plane[p], &down, x->reach[p][i], scratch);
            part_along_row(x, scratch, p, i, out[p]);
        }
    }
}
