/* A spot against its surround, as in detectors of blobs by differences of means (centre and
 * surround), but by direction, so that edges of large areas do not count. Differences are
 * CIEDE2000, times what the eye keeps of what is two cells wide (calm_seen).
 *
 * All numbers are choices; tests/cells/test_accent shows what survives by them. */
#include "cells/accent.h"

#include "base/bands.h"
#include "base/memory.h"
#include "cells/calm.h"
#include "colour/lab_row.h"

#include <math.h>
#include <stdlib.h>

/* Squares of 2 HALF + 1 cells; something up to five cells across lies clear of those around it. */
enum { HALF = 2, DIRECTIONS = 8, ROWS_AT_ONCE = 16 };

static const struct Direction {
    int across, up;
} direction[DIRECTIONS] = {{6, 0}, {4, 4}, {0, 6}, {-4, 4}, {-6, 0}, {-4, -4}, {0, -6}, {4, -4}};

/* CIEDE2000: where a cell begins to be an accent, and where it is one altogether. */
#define FROM_CONTRAST 10.0f
#define FULL_CONTRAST 20.0f

/* By row, ACCENT_PLANES of `pitch` floats: L, a, b; of the squares their means, and their spread:
 * the root of the mean square of a cell's distance from the mean, in CIELAB. */
enum { LAB_PLANES = 3, SPREAD = LAB_PLANES, ACCENT_PLANES };

typedef struct AccentWork {
    const Image *target;
    float *cell, *square;
    size_t pitch;
    Quick quick;
    float seen;
    float *scratch; /* for each worker, ACCENT_PLANES x pitch */
    float *share;
} AccentWork;

static float *plane_of(const AccentWork *w, float *planes, int row, int plane)
{
    return planes + (ACCENT_PLANES * (size_t)row + (size_t)plane) * w->pitch;
}

static float *scratch_of(const AccentWork *w, int worker)
{
    return w->scratch + ACCENT_PLANES * w->pitch * (size_t)worker;
}

static LabRow lab_row_of(const AccentWork *w, float *planes, int row, int from)
{
    return (LabRow){plane_of(w, planes, row, 0) + from, plane_of(w, planes, row, 1) + from,
                    plane_of(w, planes, row, 2) + from};
}

/* L, a, b of the cells, and L^2 + a^2 + b^2. */
static void cell_rows(void *context, int begin, int end, int worker)
{
    const AccentWork *w = context;
    float *xyz = scratch_of(w, worker);
    float *const plane[3] = {xyz, xyz + w->pitch, xyz + 2 * w->pitch};
    const int columns = w->target->columns;
    for (int row = begin; row < end; row++) {
        const float *from = w->target->xyz + 3 * (size_t)row * (size_t)columns;
        const LabRow lab = lab_row_of(w, w->cell, row, 0);
        lab_row_of_samples(from, columns, plane, (int)w->pitch, &lab);
        float *square = plane_of(w, w->cell, row, SPREAD);
        for (int i = 0; i < columns; i++)
            square[i] = lab.L[i] * lab.L[i] + lab.a[i] * lab.a[i] + lab.b[i] * lab.b[i];
    }
}

/* The means over the square around each cell; cells at the edges of the face count again for those
 * beyond. */
static void mean_row(const AccentWork *w, int row, int plane, float *sum)
{
    const int columns = w->target->columns, rows = w->target->rows;
    float *to = plane_of(w, w->square, row, plane);
    for (int i = 0; i < columns; i++) sum[i] = 0.0f;
    for (int y = row - HALF; y <= row + HALF; y++) {
        const float *from = plane_of(w, w->cell, calm_within(y, rows), plane);
        for (int i = 0; i < columns; i++) sum[i] += from[i];
    }
    for (int i = 0; i < columns; i++) {
        float all = 0.0f;
        for (int x = i - HALF; x <= i + HALF; x++) all += sum[calm_within(x, columns)];
        to[i] = all / (float)((2 * HALF + 1) * (2 * HALF + 1));
    }
}

static void square_rows(void *context, int begin, int end, int worker)
{
    const AccentWork *w = context;
    for (int row = begin; row < end; row++) {
        for (int p = 0; p < ACCENT_PLANES; p++) mean_row(w, row, p, scratch_of(w, worker));
        const LabRow mean = lab_row_of(w, w->square, row, 0);
        float *spread = plane_of(w, w->square, row, SPREAD);
        for (int i = 0; i < w->target->columns; i++) {
            const float centre =
                mean.L[i] * mean.L[i] + mean.a[i] * mean.a[i] + mean.b[i] * mean.b[i];
            spread[i] = sqrtf(fmaxf(spread[i] - centre, 0.0f));
        }
    }
}

/* The least difference and the least spread so far, with those of one direction; squares whose
 * middle is beyond the face do not count. */
static void look_toward(const AccentWork *w, int row, const struct Direction *d, float *least,
                        float *spread, float *difference)
{
    const int columns = w->target->columns, other = row + d->up;
    const int from = d->across < 0 ? -d->across : 0;
    const int count = columns - abs(d->across);
    if (count <= 0 || other < 0 || other >= w->target->rows) return;
    const int lanes = (count + LAB_LANES - 1) / LAB_LANES * LAB_LANES;
    const LabRow own = lab_row_of(w, w->cell, row, from);
    const LabRow mean = lab_row_of(w, w->square, other, from + d->across);
    const float *spreads = plane_of(w, w->square, other, SPREAD) + d->across;
    lab_row_differences(&w->quick, &own, &mean, lanes, difference);
    for (int i = from; i < from + count; i++) {
        least[i] = fminf(least[i], difference[i - from]);
        spread[i] = fminf(spread[i], spreads[i]);
    }
}

static void accent_rows(void *context, int begin, int end, int worker)
{
    const AccentWork *w = context;
    const int columns = w->target->columns;
    float *least = scratch_of(w, worker), *spread = least + w->pitch;
    for (int row = begin; row < end; row++) {
        float *share = w->share + (size_t)row * (size_t)columns;
        for (int i = 0; i < columns; i++) least[i] = spread[i] = INFINITY;
        for (int k = 0; k < DIRECTIONS; k++)
            look_toward(w, row, &direction[k], least, spread, spread + w->pitch);
        for (int i = 0; i < columns; i++) {
            const float beyond = w->seen * (least[i] - spread[i]) - FROM_CONTRAST;
            const float part = beyond / (FULL_CONTRAST - FROM_CONTRAST);
            share[i] = isfinite(least[i]) ? fminf(fmaxf(part, 0.0f), 1.0f) : 0.0f;
        }
    }
}

Status accent_find(const Image *target, const Viewpoint *viewpoint, int threads, const Voice *voice,
                   float *share, Fault *fault)
{
    AccentWork w = {.target = target, .seen = (float)calm_seen(viewpoint), .share = share};
    const int workers = bands_threads(threads);
    w.pitch = ((size_t)target->columns / LAB_LANES + 2) * LAB_LANES;
    quick_init(&w.quick);
    const size_t planes = ACCENT_PLANES * (size_t)target->rows;
    w.cell = memory_create(planes, w.pitch * sizeof(float));
    w.square = memory_create(planes, w.pitch * sizeof(float));
    w.scratch = memory_create((size_t)workers * ACCENT_PLANES, w.pitch * sizeof(float));
    Status status = STATUS_OK;
    if (w.cell && w.square && w.scratch) {
        bands_run_until(voice, workers, target->rows, ROWS_AT_ONCE, cell_rows, &w);
        bands_run_until(voice, workers, target->rows, ROWS_AT_ONCE, square_rows, &w);
        bands_run_until(voice, workers, target->rows, ROWS_AT_ONCE, accent_rows, &w);
    } else {
        status = memory_fault(fault, planes, w.pitch * sizeof(float));
    }
    memory_free(w.cell);
    memory_free(w.square);
    memory_free(w.scratch);
    return status;
}
