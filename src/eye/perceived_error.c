/* The perceived error of direct binary search (Analoui and Allebach 1992; Lieberman and Allebach,
 * IEEE Trans. Image Processing 9(11), 2000, from memory, keep its correlations with the blur up to
 * date as here), for three opponent planes and a metric tensor that changes from sample to sample.
 *
 * The kernel of a cell is an outer product of its weights across and up, summed over the parts of
 * the eye's kernels; far from the edges all cells share one. Fields of samples are padded on all
 * sides, so that no loop over a kernel asks where it is.
 *
 * Invariant: between perceived_error_evaluate and the next perceived_error_show, q = G e at every
 * sample, up to rounding, however many cells have changed. Changes of cells that do not meet
 * touch different samples, so several threads may make them at once. */
#include "eye/perceived_error.h"

#include "base/bands.h"
#include "base/memory.h"
#include "base/simd8.h"
#include "eye/metric_tensor.h"

#include <assert.h>
#include <math.h>
#include <string.h>

/* For each cell of an axis, the samples that see it: `count` of them from `first` on, in
 * a field that is padded so that all of them exist; weights of those outside are 0. */
typedef struct Spread {
    int cells, count, pad;
    int *first;
    float *weight; /* cells x planes x parts x count */
} Spread;

struct PerceivedError {
    EyeAxis x, y;
    Spread across, up;
    size_t width, area;                           /* of a padded field */
    float *target[EYE_PLANES], *face[EYE_PLANES]; /* by cell */
    double *blurred_target[EYE_PLANES];           /* by sample */
    double *error[EYE_PLANES];                    /* e */
    float *weighted[EYE_PLANES];                  /* q = G e */
    float *metric[OPPONENT_FORM];                 /* G */
    double *row_sum;
    float *kernel;        /* of a cell far from the edges; NULL: each has its own */
    int clear_x, clear_y; /* cells from the edges at which that holds */
    Quick quick;
    double cells_per_sample;
    const float *care; /* by cell, borrowed; NULL: 1 everywhere */
    size_t scratch;    /* floats of a kernel */
    int threads;
    const Voice *voice;
    double *line; /* for each worker, to blur a row */
    size_t line_size;
};

/* --- what cells give to samples ------------------------------------------------------ */

static float *spread_weight(const Spread *s, int cell, int plane, int part)
{
    return s->weight + (((size_t)cell * EYE_PLANES + (size_t)plane) * EYE_PARTS + (size_t)part) *
                           (size_t)s->count;
}

/* The weight of a cell, and of its mirror images, for a sample. */
static double folded(const EyeAxis *axis, int plane, int part, int sample, int cell)
{
    const double *taps = eye_axis_taps(axis, plane, part, sample);
    const int reach = axis->reach[plane][part], period = 2 * axis->cells;
    const int centre = eye_axis_cell(axis, sample);
    double sum = 0.0;
    for (int mirror = 0; mirror < 2; mirror++) {
        const int base = mirror ? -1 - cell : cell;
        int k = (base - centre + reach) % period;
        if (k < 0) k += period;
        for (; k <= 2 * reach; k += period) sum += taps[k];
    }
    return sum;
}

/* The count is a multiple of `round`, so that no loop over it has a rest. */
static Status spread_init(Spread *s, const EyeAxis *axis, int round, Fault *fault)
{
    int reach = 0;
    for (int p = 0; p < EYE_PLANES; p++)
        for (int i = 0; i < EYE_PARTS; i++)
            if (axis->reach[p][i] > reach) reach = axis->reach[p][i];
    const int per_cell = axis->spacing.per_cell, stride = axis->spacing.stride;
    const int count = stride == 1 ? (2 * reach + 1) * per_cell : 2 * reach / stride + 2;
    *s = (Spread){
        .cells = axis->cells, .count = (count + round - 1) / round * round, .pad = count + round};
    const size_t parts = EYE_PLANES * EYE_PARTS, cells = (size_t)axis->cells;
    s->first = memory_create(cells, sizeof *s->first);
    if (!s->first) return memory_fault(fault, cells, sizeof *s->first);
    s->weight = memory_create(cells, parts * (size_t)s->count * sizeof(float));
    if (!s->weight) return memory_fault(fault, cells, parts * (size_t)s->count * sizeof(float));
    for (int cell = 0; cell < axis->cells; cell++) {
        const int low = stride == 1 ? (cell - reach) * per_cell
                                    : (int)floor((double)(cell - reach) / (double)stride);
        s->first[cell] = low + s->pad;
        for (int p = 0; p < EYE_PLANES; p++)
            for (int i = 0; i < EYE_PARTS && eye_parts[p][i].weight != 0.0; i++) {
                float *to = spread_weight(s, cell, p, i);
                for (int u = 0; u < s->count; u++)
                    if (low + u >= 0 && low + u < axis->samples)
                        to[u] = (float)folded(axis, p, i, low + u, cell);
            }
    }
    return STATUS_OK;
}

/* Adds one part of a plane to the kernel of one cell. */
WIDE static void kernel_add(float *kernel, int across, int up, float weight, const float *wx,
                            const float *wy)
{
    int first = 0, end = across;
    while (first < end && wx[first] == 0.0f) first++;
    while (end > first && wx[end - 1] == 0.0f) end--;
    first -= first % SIMD8;
    for (int v = 0; v < up; v++) {
        const float w = weight * wy[v];
        if (w == 0.0f) continue;
        const Simd8 by = simd8(w);
        float *to = kernel + (size_t)v * (size_t)across;
        for (int u = first; u < end; u += SIMD8)
            simd8_put(to + u, simd8_at(to + u) + by * simd8_at(wx + u));
    }
}

/* The kernel of one cell: planes x up.count x across.count. */
static void kernel_fill(const PerceivedError *r, int column, int row, float *kernel)
{
    const int across = r->across.count, up = r->up.count;
    const size_t plane = (size_t)across * (size_t)up;
    memset(kernel, 0, EYE_PLANES * plane * sizeof *kernel);
    for (int p = 0; p < EYE_PLANES; p++)
        for (int i = 0; i < EYE_PARTS && eye_parts[p][i].weight != 0.0; i++)
            kernel_add(kernel + (size_t)p * plane, across, up, (float)eye_parts[p][i].weight,
                       spread_weight(&r->across, column, p, i), spread_weight(&r->up, row, p, i));
}

/* --- making ---------------------------------------------------------------------------- */

/* Coarser than the measure: a search needs to tell cells apart, and each sample costs.
 * SEARCHED_PER_DEGREE are wanted. Where a cell gets at least LEAST_PER_CELL of them it has one, or
 * two or three from TWO_PER_CELL and THREE_PER_CELL on; below, one sample stands for a stride of
 * cells. tests/bench/bench_look shows what a search by them comes to in the measure. */
#define SEARCHED_PER_DEGREE 18.0
#define LEAST_PER_CELL 0.6
#define TWO_PER_CELL 0.85
#define THREE_PER_CELL 2.1

static EyeSpacing search_spacing(double cell_degrees, SampleDensity density)
{
    const double per_cell = SEARCHED_PER_DEGREE * cell_degrees;
    const int fine = per_cell > THREE_PER_CELL ? 3 : per_cell > TWO_PER_CELL ? 2 : 1;
    if (per_cell > LEAST_PER_CELL)
        return (EyeSpacing){density == SAMPLES_FINE ? fine : (fine + 1) / 2, 1};
    const double stride = floor(LEAST_PER_CELL / per_cell);
    return (EyeSpacing){1, stride < GRID_MOST ? (int)stride : GRID_MOST};
}

bool perceived_error_has_finer(const Viewpoint *view)
{
    const double x = eye_degrees(view->cell_width_mm, view->distance_mm);
    const double y = eye_degrees(view->cell_height_mm, view->distance_mm);
    return search_spacing(x, SAMPLES_FINE).per_cell != search_spacing(x, SAMPLES_COARSE).per_cell ||
           search_spacing(y, SAMPLES_FINE).per_cell != search_spacing(y, SAMPLES_COARSE).per_cell;
}

static Status fields_init(PerceivedError *r, size_t cells, Fault *fault)
{
    for (int p = 0; p < EYE_PLANES; p++) {
        r->target[p] = memory_create(cells, sizeof(float));
        r->face[p] = memory_create(cells, sizeof(float));
        if (!r->target[p] || !r->face[p]) return memory_fault(fault, cells, sizeof(float));
    }
    double **field[] = {&r->blurred_target[0], &r->blurred_target[1], &r->blurred_target[2],
                        &r->error[0],          &r->error[1],          &r->error[2]};
    for (size_t i = 0; i < sizeof field / sizeof *field; i++) {
        *field[i] = memory_create(r->area, sizeof(double));
        if (!*field[i]) return memory_fault(fault, r->area, sizeof(double));
    }
    float **quick[] = {&r->weighted[0], &r->weighted[1], &r->weighted[2],
                       &r->metric[0],   &r->metric[1],   &r->metric[2],
                       &r->metric[3],   &r->metric[4],   &r->metric[5]};
    for (size_t i = 0; i < sizeof quick / sizeof *quick; i++) {
        *quick[i] = memory_create(r->area, sizeof(float));
        if (!*quick[i]) return memory_fault(fault, r->area, sizeof(float));
    }
    r->line_size = eye_blur_scratch(&r->x);
    r->line = memory_create(r->line_size, (size_t)r->threads * sizeof(double));
    if (!r->line) return memory_fault(fault, r->line_size, (size_t)r->threads * sizeof(double));
    r->row_sum = memory_create((size_t)r->y.samples, sizeof(double));
    if (!r->row_sum) return memory_fault(fault, (size_t)r->y.samples, sizeof(double));
    return STATUS_OK;
}

/* Far from the edges all cells have one kernel, unless samples are wider than cells. */
static Status kernel_init(PerceivedError *r, Fault *fault)
{
    if (r->x.spacing.stride > 1 || r->y.spacing.stride > 1) return STATUS_OK;
    r->clear_x = (r->across.count / r->x.spacing.per_cell + 1) / 2 + 1;
    r->clear_y = (r->up.count / r->y.spacing.per_cell + 1) / 2 + 1;
    if (2 * r->clear_x >= r->x.cells || 2 * r->clear_y >= r->y.cells) return STATUS_OK;
    r->kernel = memory_create(r->scratch, sizeof(float));
    if (!r->kernel) return memory_fault(fault, r->scratch, sizeof(float));
    kernel_fill(r, r->clear_x, r->clear_y, r->kernel);
    return STATUS_OK;
}

/* Blurs planes of cells into fields of samples. */
typedef struct Blur {
    const PerceivedError *error;
    float *const *from;
    double *const *to;
} Blur;

static void blur_rows(void *context, int begin, int end, int worker)
{
    const Blur *b = context;
    const PerceivedError *r = b->error;
    const float *const plane[EYE_PLANES] = {b->from[0], b->from[1], b->from[2]};
    for (int row = begin; row < end; row++) {
        double *out[EYE_PLANES];
        const size_t at = (size_t)(row + r->up.pad) * r->width + (size_t)r->across.pad;
        for (int p = 0; p < EYE_PLANES; p++) out[p] = b->to[p] + at;
        eye_blur_row(&r->x, &r->y, plane, row, r->line + (size_t)worker * r->line_size, out);
    }
}

static void blur_planes(const PerceivedError *r, float *const *from, double *const *to)
{
    Blur b = {r, from, to};
    bands_run_until(r->voice, r->threads, r->y.samples, 4, blur_rows, &b);
}

static Status error_init(PerceivedError *r, const Image *target, const Viewpoint *view,
                         SampleDensity density, Fault *fault)
{
    const double x = eye_degrees(view->cell_width_mm, view->distance_mm);
    const double y = eye_degrees(view->cell_height_mm, view->distance_mm);
    Status status = eye_axis_init(&r->x, target->columns, x, search_spacing(x, density), fault);
    if (!status) status = eye_axis_init(&r->y, target->rows, y, search_spacing(y, density), fault);
    if (!status) status = spread_init(&r->across, &r->x, SIMD8, fault);
    if (!status) status = spread_init(&r->up, &r->y, 2, fault);
    if (status) return status;
    const size_t cells = (size_t)target->columns * (size_t)target->rows;
    r->width = (size_t)r->x.samples + 2 * (size_t)r->across.pad;
    r->area = r->width * ((size_t)r->y.samples + 2 * (size_t)r->up.pad);
    r->cells_per_sample = (double)cells / ((double)r->x.samples * (double)r->y.samples);
    r->scratch = EYE_PLANES * (size_t)r->across.count * (size_t)r->up.count;
    status = fields_init(r, cells, fault);
    if (!status) status = kernel_init(r, fault);
    if (status) return status;
    for (size_t i = 0; i < cells; i++) {
        double o[EYE_PLANES];
        const float *c = target->xyz + 3 * i;
        eye_from_xyz((Xyz){(double)c[0], (double)c[1], (double)c[2]}, o);
        for (int p = 0; p < EYE_PLANES; p++) r->target[p][i] = (float)o[p];
    }
    blur_planes(r, r->target, r->blurred_target);
    return STATUS_OK;
}

Status perceived_error_create(PerceivedError **error_out, const Image *target,
                              const Viewpoint *view, const PerceivedErrorOptions *options,
                              Fault *fault)
{
    assert(view->cell_width_mm > 0.0 && view->cell_height_mm > 0.0 && view->distance_mm > 0.0);
    *error_out = NULL;
    PerceivedError *r = memory_create(1, sizeof *r);
    if (!r) return memory_fault(fault, 1, sizeof *r);
    quick_init(&r->quick);
    r->threads = bands_threads(options->threads);
    r->voice = options->voice;
    const Status status = error_init(r, target, view, options->density, fault);
    if (status)
        perceived_error_free(r);
    else
        *error_out = r;
    return status;
}

void perceived_error_free(PerceivedError *r)
{
    if (!r) return;
    eye_axis_clear(&r->x);
    eye_axis_clear(&r->y);
    memory_free(r->across.first);
    memory_free(r->across.weight);
    memory_free(r->up.first);
    memory_free(r->up.weight);
    for (int p = 0; p < EYE_PLANES; p++) {
        memory_free(r->target[p]);
        memory_free(r->face[p]);
        memory_free(r->blurred_target[p]);
        memory_free(r->error[p]);
        memory_free(r->weighted[p]);
    }
    for (int k = 0; k < 6; k++) memory_free(r->metric[k]);
    memory_free(r->row_sum);
    memory_free(r->line);
    memory_free(r->kernel);
    memory_free(r);
}

/* --- the whole face ---------------------------------------------------------------------- */

void perceived_error_target(const PerceivedError *r, size_t cell, double out[EYE_PLANES])
{
    for (int p = 0; p < EYE_PLANES; p++) out[p] = (double)r->target[p][cell];
}

static void subtract_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    const PerceivedError *r = context;
    for (int row = begin; row < end; row++) {
        const size_t at = (size_t)(row + r->up.pad) * r->width + (size_t)r->across.pad;
        for (int p = 0; p < EYE_PLANES; p++)
            for (size_t i = at; i < at + (size_t)r->x.samples; i++)
                r->error[p][i] -= r->blurred_target[p][i];
    }
}

void perceived_error_show(PerceivedError *r, const uint8_t *colour, const float *opponent)
{
    const size_t cells = (size_t)r->x.cells * (size_t)r->y.cells;
    for (int p = 0; p < EYE_PLANES; p++)
        for (size_t i = 0; i < cells; i++)
            r->face[p][i] = opponent[3 * (size_t)colour[i] + (size_t)p];
    blur_planes(r, r->face, r->error);
    bands_run_until(r->voice, r->threads, r->y.samples, 16, subtract_rows, r);
}

void perceived_error_weigh(PerceivedError *r, const float *care) { r->care = care; }

/* The cells that a sample of an axis stands for: from *first on, how many. */
static int cells_of_sample(const EyeAxis *axis, int sample, int *first_out)
{
    const int stride = axis->spacing.stride;
    *first_out = stride > 1 ? sample * stride : eye_axis_cell(axis, sample);
    return stride > axis->cells - *first_out ? axis->cells - *first_out : stride;
}

static double care_of(const PerceivedError *r, int sample, int row)
{
    int left, low;
    const int across = cells_of_sample(&r->x, sample, &left),
              up = cells_of_sample(&r->y, row, &low);
    double sum = 0.0;
    for (int y = low; y < low + up; y++)
        for (int x = left; x < left + across; x++)
            sum += (double)r->care[(size_t)y * (size_t)r->x.cells + (size_t)x];
    return sum / (across * up);
}

enum { AT_ONCE = 64 }; /* samples, a multiple of 8 */

typedef struct Linearising {
    PerceivedError *error;
    double softening;
} Linearising;

/* Tensors times `by`, over the softened difference that they tell. */
typedef struct Weighing {
    float by, softening2;
    const float *one[3], *two[3];
    float *tensor[OPPONENT_FORM];
} Weighing;

static WIDE void weigh_tensors(const Weighing *w)
{
    for (int i = 0; i < AT_ONCE; i += SIMD8) {
        Simd8 d[3], g[OPPONENT_FORM], root;
        for (int p = 0; p < 3; p++) d[p] = simd8_at(w->two[p] + i) - simd8_at(w->one[p] + i);
        for (int k = 0; k < OPPONENT_FORM; k++) g[k] = simd8_at(w->tensor[k] + i);
        const Simd8 square = d[0] * (g[0] * d[0] + 2.0f * (g[1] * d[1] + g[2] * d[2])) +
                             d[1] * (g[3] * d[1] + 2.0f * g[4] * d[2]) + d[2] * g[5] * d[2];
        const Simd8 soft = simd8_either(square > 0.0f, square, simd8(0.0f)) + w->softening2;
        simd8_root(&soft, &root);
        const Simd8 by = w->by / root;
        for (int k = 0; k < OPPONENT_FORM; k++) simd8_put(w->tensor[k] + i, by * g[k]);
    }
}

/* The tensors of some samples of a row, from `first` on, weighed. */
static void linearise_samples(const Linearising *l, int row, int first)
{
    const PerceivedError *r = l->error;
    const int count = r->x.samples - first < AT_ONCE ? r->x.samples - first : AT_ONCE;
    const size_t at = (size_t)(row + r->up.pad) * r->width + (size_t)(r->across.pad + first);
    float one[3][AT_ONCE] = {{0.0f}}, two[3][AT_ONCE] = {{0.0f}}, tensor[OPPONENT_FORM][AT_ONCE];
    for (int p = 0; p < 3; p++)
        for (int i = 0; i < count; i++) {
            const double seen = r->blurred_target[p][at + (size_t)i];
            one[p][i] = (float)seen;
            two[p][i] = (float)(seen + r->error[p][at + (size_t)i]);
        }
    metric_tensor_rows(&r->quick, (const float *const[3]){one[0], one[1], one[2]},
                       (const float *const[3]){two[0], two[1], two[2]}, AT_ONCE,
                       (float *const[OPPONENT_FORM]){tensor[0], tensor[1], tensor[2], tensor[3],
                                                     tensor[4], tensor[5]});
    Weighing w = {(float)(0.5 * r->cells_per_sample),
                  (float)(l->softening * l->softening),
                  {one[0], one[1], one[2]},
                  {two[0], two[1], two[2]},
                  {0}};
    for (int k = 0; k < OPPONENT_FORM; k++) w.tensor[k] = tensor[k];
    weigh_tensors(&w);
    for (int i = 0; r->care && i < count; i++) {
        const float care = (float)care_of(r, first + i, row);
        for (int k = 0; k < OPPONENT_FORM; k++) tensor[k][i] *= care;
    }
    for (int k = 0; k < OPPONENT_FORM; k++)
        memcpy(r->metric[k] + at, tensor[k], (size_t)count * sizeof(float));
}

static void linearise_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    const Linearising *l = context;
    for (int row = begin; row < end; row++)
        for (int i = 0; i < l->error->x.samples; i += AT_ONCE) linearise_samples(l, row, i);
}

void perceived_error_linearise(PerceivedError *r, double softening)
{
    Linearising l = {r, softening};
    bands_run_until(r->voice, r->threads, r->y.samples, 4, linearise_rows, &l);
}

static void evaluate_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    const PerceivedError *r = context;
    for (int row = begin; row < end; row++) {
        const size_t at = (size_t)(row + r->up.pad) * r->width + (size_t)r->across.pad;
        double sum = 0.0;
        for (size_t i = at; i < at + (size_t)r->x.samples; i++) {
            const double e[3] = {r->error[0][i], r->error[1][i], r->error[2][i]};
            double g[OPPONENT_FORM], q[3];
            for (int k = 0; k < OPPONENT_FORM; k++) g[k] = (double)r->metric[k][i];
            opponent_form_times(g, e, q);
            for (int p = 0; p < 3; p++) r->weighted[p][i] = (float)q[p];
            sum += opponent_dot(e, q);
        }
        r->row_sum[row] = sum;
    }
}

double perceived_error_evaluate(PerceivedError *r)
{
    bands_run_until(r->voice, r->threads, r->y.samples, 16, evaluate_rows, r);
    double sum = 0.0;
    for (int row = 0; row < r->y.samples; row++) sum += r->row_sum[row];
    return sum;
}

/* --- single cells ------------------------------------------------------------------------- */

int perceived_error_reach(const PerceivedError *r)
{
    const int x = r->across.count * r->x.spacing.stride / r->x.spacing.per_cell;
    const int y = r->up.count * r->y.spacing.stride / r->y.spacing.per_cell;
    return (x > y ? x : y) + 2;
}

size_t perceived_error_scratch(const PerceivedError *r) { return r->scratch; }

Footprint perceived_error_footprint(const PerceivedError *r, int column, int row, float *scratch)
{
    const size_t at = (size_t)r->up.first[row] * r->width + (size_t)r->across.first[column];
    if (r->kernel && column >= r->clear_x && column < r->x.cells - r->clear_x &&
        row >= r->clear_y && row < r->y.cells - r->clear_y)
        return (Footprint){r->kernel, at};
    kernel_fill(r, column, row, scratch);
    return (Footprint){scratch, at};
}

/* Of the two halves the first is added to the second, so that four lanes suffice. */
INLINED double sum_of(const Simd8 *v)
{
    float f[SIMD8];
    memcpy(f, v, sizeof f);
    return ((double)f[0] + (double)f[4] + ((double)f[1] + (double)f[5])) +
           ((double)f[2] + (double)f[6] + ((double)f[3] + (double)f[7]));
}

/* Six sums run side by side, so that none waits for its own last addition. */
WIDE static void gradient_wide(const PerceivedError *r, const Footprint *footprint, double *out)
{
    const int across = r->across.count, up = r->up.count;
    const size_t plane = (size_t)across * (size_t)up, width = r->width;
    Simd8 even[3] = {{0}}, odd[3] = {{0}};
    for (int v = 0; v < up; v += 2) {
        const float *k = footprint->kernel + (size_t)v * (size_t)across;
        const size_t at = footprint->at + (size_t)v * width;
        const float *q0 = r->weighted[0] + at, *q1 = r->weighted[1] + at, *q2 = r->weighted[2] + at;
        for (int u = 0; u < across; u += SIMD8, k += SIMD8) {
            even[0] += simd8_at(k) * simd8_at(q0 + u);
            even[1] += simd8_at(k + plane) * simd8_at(q1 + u);
            even[2] += simd8_at(k + 2 * plane) * simd8_at(q2 + u);
            odd[0] += simd8_at(k + across) * simd8_at(q0 + width + u);
            odd[1] += simd8_at(k + plane + across) * simd8_at(q1 + width + u);
            odd[2] += simd8_at(k + 2 * plane + across) * simd8_at(q2 + width + u);
        }
    }
    for (int p = 0; p < 3; p++) {
        const Simd8 sum = even[p] + odd[p];
        out[p] = sum_of(&sum);
    }
}

void perceived_error_gradient(const PerceivedError *r, const Footprint *footprint,
                              double out[EYE_PLANES])
{
    gradient_wide(r, footprint, out);
}

WIDE static void curvature_wide(const PerceivedError *r, const Footprint *footprint, double *out)
{
    const int across = r->across.count, up = r->up.count;
    const size_t plane = (size_t)across * (size_t)up;
    Simd8 sum[6] = {{0}};
    for (int v = 0; v < up; v++) {
        const float *k = footprint->kernel + (size_t)v * (size_t)across;
        const size_t at = footprint->at + (size_t)v * r->width;
        for (int u = 0; u < across; u += SIMD8) {
            const Simd8 a = simd8_at(k + u), b = simd8_at(k + plane + u),
                        c = simd8_at(k + 2 * plane + u);
            sum[0] += a * a * simd8_at(r->metric[0] + at + u);
            sum[1] += a * b * simd8_at(r->metric[1] + at + u);
            sum[2] += a * c * simd8_at(r->metric[2] + at + u);
            sum[3] += b * b * simd8_at(r->metric[3] + at + u);
            sum[4] += b * c * simd8_at(r->metric[4] + at + u);
            sum[5] += c * c * simd8_at(r->metric[5] + at + u);
        }
    }
    for (int k = 0; k < 6; k++) out[k] = sum_of(&sum[k]);
}

void perceived_error_curvature(const PerceivedError *r, const Footprint *footprint,
                               double out[OPPONENT_FORM])
{
    curvature_wide(r, footprint, out);
}

WIDE static double shift_wide(PerceivedError *r, const Footprint *footprint, const double *d)
{
    const int across = r->across.count, up = r->up.count;
    const size_t plane = (size_t)across * (size_t)up;
    const Simd8 by0 = simd8((float)d[0]), by1 = simd8((float)d[1]), by2 = simd8((float)d[2]);
    double total = 0.0;
    for (int v = 0; v < up; v++) {
        const float *k = footprint->kernel + (size_t)v * (size_t)across;
        const size_t at = footprint->at + (size_t)v * r->width;
        float *const q0 = r->weighted[0] + at, *const q1 = r->weighted[1] + at,
                     *const q2 = r->weighted[2] + at;
        const float *g[6];
        for (int i = 0; i < 6; i++) g[i] = r->metric[i] + at;
        Simd8 sum = {0};
        for (int u = 0; u < across; u += SIMD8) {
            const Simd8 a = by0 * simd8_at(k + u), b = by1 * simd8_at(k + plane + u),
                        c = by2 * simd8_at(k + 2 * plane + u);
            const Simd8 g1 = simd8_at(g[1] + u), g2 = simd8_at(g[2] + u), g4 = simd8_at(g[4] + u);
            const Simd8 x = simd8_at(g[0] + u) * a + g1 * b + g2 * c;
            const Simd8 y = g1 * a + simd8_at(g[3] + u) * b + g4 * c;
            const Simd8 z = g2 * a + g4 * b + simd8_at(g[5] + u) * c;
            const Simd8 p0 = simd8_at(q0 + u), p1 = simd8_at(q1 + u), p2 = simd8_at(q2 + u);
            sum += a * (p0 + p0 + x) + b * (p1 + p1 + y) + c * (p2 + p2 + z);
            simd8_put(q0 + u, p0 + x);
            simd8_put(q1 + u, p1 + y);
            simd8_put(q2 + u, p2 + z);
        }
        total += sum_of(&sum);
    }
    return total;
}

double perceived_error_shift(PerceivedError *r, const Footprint *footprint, const double d[3])
{
    return shift_wide(r, footprint, d);
}

/* What two cells in the middle of an axis share of two parts. */
static double shared(const Spread *s, int apart, int p, int i, int q, int j)
{
    const int middle = s->cells / 2, other = middle + apart < s->cells ? middle + apart : middle;
    const float *one = spread_weight(s, middle, p, i), *two = spread_weight(s, other, q, j);
    const int off = s->first[other] - s->first[middle];
    double sum = 0.0;
    for (int u = 0; u < s->count; u++) {
        const int v = u - off;
        if (v >= 0 && v < s->count) sum += (double)one[u] * (double)two[v];
    }
    return sum;
}

static double overlap(const PerceivedError *r, int columns, int rows, int p, int q)
{
    double sum = 0.0;
    for (int i = 0; i < EYE_PARTS && eye_parts[p][i].weight != 0.0; i++)
        for (int j = 0; j < EYE_PARTS && eye_parts[q][j].weight != 0.0; j++)
            sum += eye_parts[p][i].weight * eye_parts[q][j].weight *
                   shared(&r->across, columns, p, i, q, j) * shared(&r->up, rows, p, i, q, j);
    return sum;
}

void perceived_error_overlap(const PerceivedError *r, int columns, int rows,
                             double out[OPPONENT_FORM])
{
    for (int p = 0, k = 0; p < EYE_PLANES; p++)
        for (int q = p; q < EYE_PLANES; q++)
            out[k++] = overlap(r, columns, rows, p, q) / overlap(r, 0, 0, p, q);
}
