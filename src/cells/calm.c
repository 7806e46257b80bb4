/* The pairs and weights came out of trials on paintings: pairs side by side alone leave specks at
 * two cells, and pairs two apart alone draw stripes that they do not see. tests/bench/bench_look
 * shows what they come to.
 *
 * Invariant: what one colour costs in one cell is the same number in each of the forms that a
 * search asks for, up to single precision. */
#include "cells/calm.h"

#include "base/bands.h"
#include "base/memory.h"
#include "base/simd8.h"
#include "colour/delta_e.h"
#include "colour/lab_row.h"

#include <math.h>
#include <stdlib.h>

/* At weight 1, of an excess of 1 between cells side by side; of one of chroma. */
#define PAIR_PRICE 0.09
#define VIVID_PRICE 0.7
#define CHROMA_FREE 20.0 /* beyond the picture's own */

/* Prices are for a picture whose cells differ so much from their neighbours, CIEDE2000, in the mean
 * over MASK_HALF cells around; that has the mean's root in it, so that an edge counts little. */
enum { MASK_HALF = 2 };
#define MASK_OF_PRICES 3.0f

/* What an accent may have of contrast and chroma beyond the picture's: more than a palette has. */
#define ACCENT_FREE 100.0f

static const struct PairKind {
    int across, up;
    double weight;
} pair_kind[CALM_PAIRS] = {{1, 0, 1.0},  {0, 1, 1.0}, {1, 1, 0.5},
                           {-1, 1, 0.5}, {2, 0, 0.5}, {0, 2, 0.5}};

/* What a plane's kernel leaves of stripes two cells wide. */
static double left_of_stripes(const Viewpoint *view, int plane)
{
    const double side = sqrt(view->cell_width_mm * view->cell_height_mm);
    const double cell = eye_degrees(side, view->distance_mm), quarter = acos(-1.0) / 4.0;
    double sum = 0.0;
    for (int i = 0; i < EYE_PARTS && eye_parts[plane][i].weight != 0.0; i++) {
        const double bent = quarter * eye_parts[plane][i].sigma / cell;
        sum += eye_parts[plane][i].weight * exp(-bent * bent);
    }
    return fmin(fmax(sum, 0.0), 1.0);
}

double calm_seen(const Viewpoint *view) { return left_of_stripes(view, 0); }

/* Cells as wide to the eye as 8 mm from 5 m, for which the prices are; smaller ones make them
 * dearer by this power, up to what it comes to from 10 m. With it unrest from 10 m is not above
 * that of the nearest colours, in the mean of six pictures. */
#define CELL_OF_PRICES 0.0917 /* degrees */
#define DEARER_POWER 0.3
#define DEARER_MOST 1.23

double calm_wanted(const Viewpoint *view)
{
    const double side = sqrt(view->cell_width_mm * view->cell_height_mm);
    const double cell = eye_degrees(side, view->distance_mm);
    const double dearer = pow(CELL_OF_PRICES / cell, DEARER_POWER);
    return calm_seen(view) * fmin(fmax(dearer, 1.0), DEARER_MOST);
}

/* ---- making ---- */

/* What is seen of red-green and of blue-yellow beside what is seen of lightness; a* and b* stand
 * for the opponent axes, near enough for a price. */
static void chroma_seen(const Viewpoint *view, double seen[2])
{
    const double lightness = fmax(left_of_stripes(view, 0), 1e-3);
    for (int k = 0; k < 2; k++) seen[k] = fmin(left_of_stripes(view, k + 1) / lightness, 1.0);
}

/* What two colours beside each other look like apart: their a* and b* come nearer to the mean. */
static double seen_difference(const double seen[2], Lab one, Lab other)
{
    const double da = 0.5 * (1.0 - seen[0]) * (one.a - other.a);
    const double db = 0.5 * (1.0 - seen[1]) * (one.b - other.b);
    return delta_e_2000((Lab){one.L, one.a - da, one.b - db},
                        (Lab){other.L, other.a + da, other.b + db});
}

static int by_size(const void *one, const void *two)
{
    const double a = *(const double *)one, b = *(const double *)two;
    return (a > b) - (a < b);
}

/* The median over the colours of the difference from the one nearest to each. */
static double palette_spacing(const Calm *calm)
{
    double nearest[PALETTE_MOST];
    if (calm->colours < 2) return 1.0;
    for (int i = 0; i < calm->colours; i++) {
        nearest[i] = INFINITY;
        for (int k = 0; k < calm->colours; k++)
            if (k != i)
                nearest[i] =
                    fmin(nearest[i], (double)calm->between[(size_t)i * CALM_PITCH + (size_t)k]);
    }
    qsort(nearest, (size_t)calm->colours, sizeof *nearest, by_size);
    return fmax(nearest[calm->colours / 2], 1.0);
}

static void compare_colours(Calm *calm, const Palette *palette, const double seen[2])
{
    for (int i = 0; i < palette->count; i++) {
        const Lab *one = &palette->colour[i].lab;
        float *row = calm->between + (size_t)i * CALM_PITCH;
        calm->chroma[i] = (float)hypot(one->a, one->b);
        for (int k = 0; k < i; k++) { /* the same to the last bit both ways round */
            row[k] = (float)seen_difference(seen, *one, palette->colour[k].lab);
            calm->between[(size_t)k * CALM_PITCH + (size_t)i] = row[k];
        }
    }
}

typedef struct ContrastWork {
    Calm *calm;
    const Image *target;
    const float *accent, *share;
    float move[2]; /* of a* and b*, toward the other of a pair, by their difference */
    Quick quick;
    float *root;    /* by cell: of its contrasts with its neighbours, the mean root */
    float *scratch; /* for each worker */
    size_t size;    /* floats of it */
    int pitch;      /* of a row */
} ContrastWork;

enum { SEEN_ROWS = 3, PLANES = 3 }; /* a row and the two above it */

/* Rows of `pitch` floats for each worker: Lab of the rows that are seen, samples to be turned, both
 * sides of pairs as they look, their difference. */
enum { TURNED = SEEN_ROWS * PLANES, MOVED = TURNED + PLANES, DIFFERENCE = MOVED + 4, ROWS_HELD };

/* Rows of Lab with two cells before and a few after, so that partners at the sides exist. */
enum { MARGIN = 8 };

static LabRow seen_row(const ContrastWork *w, float *scratch, int row)
{
    float *to = scratch + (size_t)(row % SEEN_ROWS) * PLANES * (size_t)w->pitch + MARGIN;
    return (LabRow){to, to + w->pitch, to + 2 * w->pitch};
}

static void lab_of_row(const ContrastWork *w, float *scratch, int row)
{
    const Image *t = w->target;
    float *planes = scratch + TURNED * (size_t)w->pitch;
    float *const plane[PLANES] = {planes, planes + w->pitch, planes + 2 * w->pitch};
    const float *xyz = t->xyz + 3 * (size_t)row * (size_t)t->columns;
    const LabRow out = seen_row(w, scratch, row);
    lab_row_of_samples(xyz, t->columns, plane, w->pitch - 2 * MARGIN, &out);
}

static float accent_free(const ContrastWork *w, int column, int row)
{
    if (!w->accent || column < 0 || column >= w->calm->columns) return 0.0f;
    return ACCENT_FREE * w->accent[(size_t)row * (size_t)w->calm->columns + (size_t)column];
}

/* Differences of pairs as they look; a row's own first, `across` cells on the other. */
static const float *pair_differences(const ContrastWork *w, float *scratch, const LabRow *one,
                                     const LabRow *other)
{
    const int count = w->pitch - 2 * MARGIN;
    float *moved[4], *difference = scratch + DIFFERENCE * (size_t)w->pitch;
    for (int k = 0; k < 4; k++) moved[k] = scratch + (size_t)(MOVED + k) * (size_t)w->pitch;
    for (int i = 0; i < count; i++) {
        const float da = w->move[0] * (one->a[i] - other->a[i]);
        const float db = w->move[1] * (one->b[i] - other->b[i]);
        moved[0][i] = one->a[i] - da, moved[1][i] = one->b[i] - db;
        moved[2][i] = other->a[i] + da, moved[3][i] = other->b[i] + db;
    }
    lab_row_differences(&w->quick, &(LabRow){one->L, moved[0], moved[1]},
                        &(LabRow){other->L, moved[2], moved[3]}, count, difference);
    return difference;
}

/* How much the cells of a row differ from those to their right and above them. */
static void add_roots(const ContrastWork *w, const float *difference, int kind, int row)
{
    const int columns = w->calm->columns;
    float *root = w->root + (size_t)row * (size_t)columns;
    const bool top = row + 1 == w->calm->rows;
    for (int i = 0; i < columns; i++) {
        const bool last = i + 1 == columns;
        if (kind == 0 && !last) root[i] += (top ? 1.0f : 0.5f) * sqrtf(difference[i]);
        if (kind == 1) root[i] += (last ? 1.0f : 0.5f) * sqrtf(difference[i]);
    }
}

static void contrast_row(const ContrastWork *w, float *scratch, int row)
{
    Calm *calm = w->calm;
    const int columns = calm->columns;
    const LabRow one = seen_row(w, scratch, row);
    float *to = calm->contrast + (size_t)row * (size_t)columns * CALM_PAIRS;
    for (int k = 0; k < CALM_PAIRS; k++) {
        const int above = row + pair_kind[k].up, across = pair_kind[k].across;
        if (above >= calm->rows) continue;
        LabRow other = seen_row(w, scratch, above);
        other = (LabRow){other.L + across, other.a + across, other.b + across};
        const float *difference = pair_differences(w, scratch, &one, &other);
        if (k < 2) add_roots(w, difference, k, row);
        for (int i = 0; i < columns; i++)
            to[i * CALM_PAIRS + k] =
                difference[i] + fmaxf(accent_free(w, i, row), accent_free(w, i + across, above));
    }
    for (int i = 0; i < columns; i++)
        calm->chroma_most[(size_t)row * (size_t)columns + (size_t)i] =
            hypotf(one.a[i], one.b[i]) + (float)CHROMA_FREE + accent_free(w, i, row);
}

static void contrast_rows(void *context, int begin, int end, int worker)
{
    const ContrastWork *w = context;
    float *scratch = w->scratch + (size_t)worker * w->size;
    int seen = begin;
    for (int row = begin; row < end; row++) {
        for (; seen < row + SEEN_ROWS && seen < w->calm->rows; seen++) lab_of_row(w, scratch, seen);
        contrast_row(w, scratch, row);
    }
}

/* Where the picture is even, what it has not is seen most; where it is busy, that is masked. */
static void share_rows(void *context, int begin, int end, int worker)
{
    const ContrastWork *w = context;
    const int columns = w->calm->columns, rows = w->calm->rows;
    float *sum = w->scratch + (size_t)worker * w->size;
    for (int row = begin; row < end; row++) {
        float *share = w->calm->share + (size_t)row * (size_t)columns;
        for (int i = 0; i < columns; i++) sum[i] = 0.0f;
        for (int y = row - MASK_HALF; y <= row + MASK_HALF; y++) {
            const float *root = w->root + (size_t)calm_within(y, rows) * (size_t)columns;
            for (int i = 0; i < columns; i++) sum[i] += root[i];
        }
        for (int i = 0; i < columns; i++) {
            float all = 0.0f;
            for (int x = i - MASK_HALF; x <= i + MASK_HALF; x++)
                all += sum[calm_within(x, columns)];
            const float mean = all / (float)((2 * MASK_HALF + 1) * (2 * MASK_HALF + 1));
            share[i] = (1.0f + MASK_OF_PRICES) / (1.0f + mean * mean);
        }
        for (int i = 0; w->share && i < columns; i++)
            share[i] *= w->share[(size_t)row * (size_t)columns + (size_t)i];
    }
}

static Status contrast_init(Calm *calm, const CalmProblem *problem, const double seen[2],
                            Fault *fault)
{
    ContrastWork w = {.calm = calm,
                      .target = problem->target,
                      .accent = problem->accent,
                      .share = problem->share};
    for (int k = 0; k < 2; k++) w.move[k] = (float)(0.5 * (1.0 - seen[k]));
    w.pitch = (calm->columns + LAB_LANES - 1) / LAB_LANES * LAB_LANES + 2 * MARGIN;
    w.size = ROWS_HELD * (size_t)w.pitch;
    const int threads = bands_threads(problem->threads);
    const size_t cells = (size_t)calm->columns * (size_t)calm->rows;
    Status status = STATUS_OK;
    w.scratch = memory_create(w.size, (size_t)threads * sizeof(float));
    w.root = memory_create(cells, sizeof *w.root);
    if (w.scratch && w.root) {
        quick_init(&w.quick);
        bands_run_until(problem->voice, threads, calm->rows, 32, contrast_rows, &w);
        bands_run_until(problem->voice, threads, calm->rows, 32, share_rows, &w);
    } else {
        status = memory_fault(fault, w.size, (size_t)threads * sizeof(float));
    }
    memory_free(w.root);
    memory_free(w.scratch);
    return status;
}

Status calm_init(Calm *calm, const CalmProblem *problem, Fault *fault)
{
    const Image *target = problem->target;
    const double weight = problem->calm * calm_wanted(&problem->viewpoint);
    *calm = (Calm){.columns = target->columns,
                   .rows = target->rows,
                   .colours = problem->palette->count,
                   .pair = PAIR_PRICE * weight,
                   .vivid = VIVID_PRICE * weight};
    if (weight <= 0.0) return STATUS_OK;
    const size_t cells = (size_t)target->columns * (size_t)target->rows;
    double seen[2];
    chroma_seen(&problem->viewpoint, seen);
    calm->between = memory_create((size_t)calm->colours, CALM_PITCH * sizeof(float));
    calm->contrast = memory_create(cells, CALM_PAIRS * sizeof(float));
    calm->chroma_most = memory_create(cells, sizeof(float));
    calm->share = memory_create(cells, sizeof(float));
    if (!calm->between || !calm->contrast || !calm->chroma_most || !calm->share)
        return memory_fault(fault, cells, CALM_PAIRS * sizeof(float));
    for (int k = 0; k < CALM_PARTNERS; k++) {
        const struct PairKind *kind = &pair_kind[k / 2];
        calm->apart[k] = (k % 2 ? -1 : 1) * (kind->across + (ptrdiff_t)kind->up * calm->columns);
    }
    compare_colours(calm, problem->palette, seen);
    calm->bend = 2.0 / palette_spacing(calm);
    return contrast_init(calm, problem, seen, fault);
}

void calm_clear(Calm *calm)
{
    memory_free(calm->between);
    memory_free(calm->contrast);
    memory_free(calm->chroma_most);
    memory_free(calm->share);
    *calm = (Calm){0};
}

/* ---- what it costs ---- */

enum { FARTHEST = 2 }; /* cells of a pair, along either axis */

int calm_partners(const Calm *calm, int column, int row, CalmPartner partner[CALM_PARTNERS])
{
    int count = 0;
    if (calm->pair <= 0.0) return 0;
    const size_t here = (size_t)row * (size_t)calm->columns + (size_t)column;
    const bool all = column >= FARTHEST && row >= FARTHEST && column < calm->columns - FARTHEST &&
                     row < calm->rows - FARTHEST;
    for (int k = 0; k < CALM_PARTNERS; k++) {
        const struct PairKind *kind = &pair_kind[k / 2];
        const int way = k % 2 ? -1 : 1;
        const int x = column + way * kind->across, y = row + way * kind->up;
        if (!all && (x < 0 || y < 0 || x >= calm->columns || y >= calm->rows)) continue;
        const size_t at = (size_t)((ptrdiff_t)here + calm->apart[k]);
        const double share = 0.5 * (double)(calm->share[here] + calm->share[at]);
        partner[count++] =
            (CalmPartner){at, (float)(share * calm->pair * kind->weight),
                          calm->contrast[(k % 2 ? at : here) * CALM_PAIRS + (size_t)(k / 2)]};
    }
    return count;
}

double calm_vivid(const Calm *calm, size_t at, int colour)
{
    if (calm->vivid <= 0.0) return 0.0;
    const double beyond = (double)calm->chroma[colour] - (double)calm->chroma_most[at];
    return beyond > 0.0 ? calm->vivid * (double)calm->share[at] * beyond : 0.0;
}

/* The prices of pairs of each colour with one colour. */
typedef struct PairRow {
    const float *between;
    float contrast, price, bent; /* of an excess, of its square */
} PairRow;

/* What all colours cost in one cell. */
typedef struct CellPrices {
    const float *chroma;
    float vivid, most; /* price of chroma, and what is free */
    int pairs;
    PairRow pair[CALM_PARTNERS];
} CellPrices;

static WIDE void add_prices(const CellPrices *p, int colours, double *cost)
{
    const Simd8 zero = simd8(0.0f);
    for (int i = 0; i < colours; i += SIMD8) {
        const Simd8 beyond = simd8_at(p->chroma + i) - p->most;
        Simd8 all = p->vivid * simd8_either(beyond > zero, beyond, zero);
        for (int k = 0; k < p->pairs; k++) {
            const PairRow *row = &p->pair[k];
            const Simd8 x = simd8_at(row->between + i) - row->contrast;
            const Simd8 over = simd8_either(x > zero, x, zero);
            all += over * (row->price + row->bent * over);
        }
        for (int k = 0; k < SIMD8; k++) cost[i + k] += (double)all[k];
    }
}

void calm_add_costs(const Calm *calm, const uint8_t *colour, int column, int row, double *cost)
{
    if (calm->pair <= 0.0) return;
    const size_t at = (size_t)row * (size_t)calm->columns + (size_t)column;
    CalmPartner partner[CALM_PARTNERS];
    const int partners = calm_partners(calm, column, row, partner);
    CellPrices p = {
        calm->chroma, (float)calm->vivid * calm->share[at], calm->chroma_most[at], 0, {{0}}};
    const float bend = (float)calm->bend;
    for (int k = 0; k < partners; k++)
        if (colour[partner[k].at] < calm->colours)
            p.pair[p.pairs++] =
                (PairRow){calm->between + (size_t)colour[partner[k].at] * CALM_PITCH,
                          partner[k].contrast, partner[k].price, partner[k].price * bend};
    add_prices(&p, calm->colours, cost);
}

double calm_pairs_of_row(const Calm *calm, const uint8_t *colour, int row)
{
    if (calm->pair <= 0.0) return 0.0;
    const size_t first = (size_t)row * (size_t)calm->columns;
    double sum = 0.0;
    for (int column = 0; column < calm->columns; column++) {
        const size_t here = first + (size_t)column;
        CalmPartner partner[CALM_PARTNERS];
        const int count = calm_partners(calm, column, row, partner);
        for (int k = 0; k < count; k++)
            if (partner[k].at > here)
                sum += calm_pair(calm, &partner[k], colour[here], colour[partner[k].at]);
    }
    return sum;
}

/* ---- a beginning ---- */

typedef struct Softening {
    const Calm *calm;
    const CalmProblem *problem;
    const Keep *keep;
    int offered;
    Grid *grid;
} Softening;

static void soften_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    const Softening *s = context;
    const Calm *calm = s->calm;
    for (int row = begin; row < end; row++)
        for (int column = 0; column < calm->columns; column++) {
            const size_t at = (size_t)row * (size_t)calm->columns + (size_t)column;
            uint8_t *colour = &s->grid->colour[at];
            if (s->keep->cell && s->keep->cell[at]) continue;
            if (calm_vivid(calm, at, *colour) <= 0.0) continue;
            const Lab lab = lab_from_xyz(image_at(s->problem->target, column, row));
            double least = INFINITY;
            for (int c = 0; c < s->offered; c++) {
                if (keep_bars(s->keep, at, c)) continue;
                const double cost =
                    delta_e_2000(lab, s->problem->palette->colour[c].lab) + calm_vivid(calm, at, c);
                if (cost < least) least = cost, *colour = (uint8_t)c;
            }
        }
}

void calm_soften(const Calm *calm, const CalmProblem *problem, const Keep *keep, Grid *grid)
{
    const int offered = keep->offered ? keep->offered : calm->colours;
    Softening s = {calm, problem, keep, offered, grid};
    if (calm->vivid > 0.0)
        bands_run_until(problem->voice, problem->threads, calm->rows, 8, soften_rows, &s);
}
