/* The walker starts from its own solution on a picture of half the size, and that from a quarter,
 * down to one that is small; there it starts from the nearest strokes by geodesic distance. So
 * few iterations are left for the full size. */
#include "layers/outline.h"

#include "base/bands.h"
#include "base/memory.h"
#include "layers/gaussian.h"
#include "layers/geodesic.h"
#include "layers/label_pieces.h"

#include <assert.h>
#include <string.h>

enum { BAND_ROWS = 16 };

typedef struct Finding {
    const OutlineOptions *options;
    StrokedPixels in;
    const Voice *voice;
    Fault *fault;
} Finding;

/* ---- chances ---- */

static Status find_chances(const Finding *f, double length, float *chance);

/* All chance to the label that the colours lead to most easily from a stroke. */
static Status start_nearest(const Finding *f, float *chance)
{
    const size_t count = lab_pixels_count(f->in.pixels);
    uint8_t *label = memory_create(count, 1);
    float *distance = memory_create(count, sizeof *distance);
    Status status = STATUS_OK;
    if (label && distance) {
        memcpy(label, f->in.stroke, count);
        status = geodesic_spread(f->in.pixels, GEODESIC_CREEP, label, distance, f->fault);
        for (int l = 0; l < f->in.labels - 1; l++)
            for (size_t i = 0; i < count; i++) chance[(size_t)l * count + i] = label[i] == l;
    } else {
        status = memory_fault(f->fault, count, sizeof *distance);
    }
    memory_free(label);
    memory_free(distance);
    return status;
}

/* The lowest of the labels that most strokes of the four pixels have. */
static uint8_t most_frequent(const uint8_t four[4])
{
    uint8_t best = LABEL_NONE;
    int most = 0;
    for (int i = 0; i < 4; i++) {
        int same = 0;
        for (int k = 0; k < 4; k++) same += four[k] == four[i];
        if (four[i] == LABEL_NONE || same < most || (same == most && four[i] > best)) continue;
        best = four[i];
        most = same;
    }
    return best;
}

static Status unless_stopped(const Finding *f)
{
    if (!voice_stopped(f->voice)) return STATUS_OK;
    return fault_set(f->fault, STATUS_INTERRUPTED, "layers: stopped; run it again");
}

static void halve_strokes(const Finding *f, const LabPixels *half, uint8_t *stroke)
{
    const size_t width = (size_t)f->in.pixels->columns;
    for (int row = 0; row < half->rows; row++)
        for (int column = 0; column < half->columns; column++) {
            const size_t at = 2 * (size_t)row * width + 2 * (size_t)column;
            const size_t right = at + (2 * column + 1 < f->in.pixels->columns);
            const size_t up = 2 * row + 1 < f->in.pixels->rows ? width : 0;
            const uint8_t *s = f->in.stroke;
            *stroke++ = most_frequent((uint8_t[4]){s[at], s[right], s[at + up], s[right + up]});
        }
}

/* A plane of chances at half the size, and at the whole. */
typedef struct Doubling {
    const LabPixels *half, *pixels;
    const float *from;
    float *to;
} Doubling;

/* Each pixel from the nearest of half as many, nine parts, and those beside it. */
static void double_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    const Doubling *d = context;
    const int columns = d->half->columns, rows = d->half->rows;
    float *to = d->to + (size_t)begin * (size_t)d->pixels->columns;
    for (int row = begin; row < end; row++)
        for (int column = 0; column < d->pixels->columns; column++) {
            const int x = column / 2, y = row / 2;
            int beside = x + (column % 2 ? 1 : -1), beyond = y + (row % 2 ? 1 : -1);
            if (beside < 0 || beside >= columns) beside = x;
            if (beyond < 0 || beyond >= rows) beyond = y;
            const float *near = d->from + (size_t)y * (size_t)columns;
            const float *far = d->from + (size_t)beyond * (size_t)columns;
            *to++ = (9 * near[x] + 3 * (near[beside] + far[x]) + far[beside]) / 16;
        }
}

static Status start_coarse(const Finding *f, double length, float *chance)
{
    const size_t count = lab_pixels_count(f->in.pixels), labels = (size_t)f->in.labels - 1;
    LabPixels half;
    Status status = lab_pixels_halve(&half, f->in.pixels, f->in.threads, f->fault);
    const size_t fewer = lab_pixels_count(&half);
    uint8_t *stroke = memory_create(fewer, 1);
    float *coarse = memory_create(labels * fewer, sizeof *coarse);
    if (!status) status = unless_stopped(f);
    if (!status && (!stroke || !coarse))
        status = memory_fault(f->fault, labels * fewer, sizeof *coarse);
    if (!status) {
        Finding below = *f;
        halve_strokes(f, &half, stroke);
        below.in.pixels = &half;
        below.in.stroke = stroke;
        status = find_chances(&below, length / 2, coarse);
    }
    for (size_t l = 0; !status && l < labels; l++) {
        Doubling doubling = {&half, f->in.pixels, coarse + l * fewer, chance + l * count};
        bands_run(f->in.threads, f->in.pixels->rows, BAND_ROWS, double_rows, &doubling);
    }
    memory_free(stroke);
    memory_free(coarse);
    lab_pixels_clear(&half);
    return status;
}

static Status find_chances(const Finding *f, double length, float *chance)
{
    const bool small = lab_pixels_count(f->in.pixels) < (size_t)f->options->coarse;
    WalkerOptions walker = f->options->walker;
    walker.length = length;
    Status status = small ? start_nearest(f, chance) : start_coarse(f, length, chance);
    if (!status) status = unless_stopped(f);
    return status ? status : random_walker(&walker, &f->in, chance, f->voice, f->fault);
}

/* ---- labels ---- */

typedef struct Taking {
    const Finding *finding;
    const float *chance;
    Outline *outline;
} Taking;

/* The likeliest label of each pixel, and by how much; a stroke's own. */
static void take_likeliest(void *context, int begin, int end, int worker)
{
    (void)worker;
    const Taking *t = context;
    const StrokedPixels *in = &t->finding->in;
    const size_t count = lab_pixels_count(in->pixels), width = (size_t)in->pixels->columns;
    for (size_t i = (size_t)begin * width; i < (size_t)end * width; i++) {
        float best = -1, next = -1, rest = 1;
        int label = 0;
        for (int l = 0; l < in->labels; l++) {
            const float x = l < in->labels - 1 ? t->chance[(size_t)l * count + i] : rest;
            rest -= x;
            if (x > best) {
                next = best;
                best = x;
                label = l;
            } else if (x > next) {
                next = x;
            }
        }
        t->outline->margin[i] = best - next;
        t->outline->label[i] = in->stroke[i] != LABEL_NONE ? in->stroke[i] : (uint8_t)label;
    }
}

/* Refuses the pieces without a stroke, and hands their pixels on. */
static Status refuse_pieces(const Finding *f, float *distance, Outline *o)
{
    const size_t count = lab_pixels_count(f->in.pixels);
    LabelPieces pieces;
    Status status = label_pieces_init(&pieces, o->label, f->in.stroke, f->in.pixels->columns,
                                      f->in.pixels->rows, f->fault);
    for (size_t i = 0; !status && i < count; i++) {
        const bool held = pieces.piece[pieces.of[i]].held;
        o->refused[i] = held ? LABEL_NONE : o->label[i];
        if (!held) o->label[i] = LABEL_NONE;
    }
    if (!status)
        status = geodesic_spread(f->in.pixels, GEODESIC_CREEP, o->label, distance, f->fault);
    label_pieces_clear(&pieces);
    return status;
}

/* Each pixel takes the label that has most of its surroundings. The planes are spare ones. */
static Status smooth_labels(const Finding *f, float *plane, float *most, Outline *o)
{
    const size_t count = lab_pixels_count(f->in.pixels);
    uint8_t *from = memory_create(count, 1);
    if (!from) return memory_fault(f->fault, count, 1);
    memcpy(from, o->label, count);
    memset(most, 0, count * sizeof *most);
    Status status = STATUS_OK;
    for (int l = 0; !status && l < f->in.labels; l++) {
        for (size_t i = 0; i < count; i++) plane[i] = from[i] == l;
        status = unless_stopped(f);
        if (status) break;
        status = gaussian_blur(plane, f->in.pixels->columns, f->in.pixels->rows, f->options->smooth,
                               f->in.threads, f->fault);
        for (size_t i = 0; !status && i < count; i++) {
            if (!(plane[i] > most[i])) continue;
            most[i] = plane[i];
            o->label[i] = (uint8_t)l;
        }
    }
    for (size_t i = 0; !status && i < count; i++)
        if (f->in.stroke[i] != LABEL_NONE) o->label[i] = f->in.stroke[i];
    memory_free(from);
    return status;
}

static Status outline_init(Outline *o, size_t count, Fault *fault)
{
    *o = (Outline){memory_create(count, 1), memory_create(count, 1),
                   memory_create(count, sizeof(float))};
    return o->label && o->refused && o->margin ? STATUS_OK
                                               : memory_fault(fault, count, sizeof(float));
}

Status outline_find(const OutlineOptions *options, const StrokedPixels *stroked, Outline *o,
                    const Voice *voice, Fault *fault)
{
    const Finding f = {options, *stroked, voice, fault};
    const size_t count = lab_pixels_count(stroked->pixels);
    const size_t planes = stroked->labels < 3 ? 2 : (size_t)stroked->labels - 1;
    assert(stroked->labels >= 2 && stroked->labels < LABEL_NONE);
    Status status = outline_init(o, count, fault);
    float *chance = memory_create(planes * count, sizeof *chance);
    if (!status && !chance) status = memory_fault(fault, planes * count, sizeof *chance);
    if (!status) status = find_chances(&f, options->walker.length, chance);
    Taking taking = {&f, chance, o};
    if (!status)
        bands_run(stroked->threads, stroked->pixels->rows, BAND_ROWS, take_likeliest, &taking);
    if (!status) status = unless_stopped(&f);
    if (!status) status = refuse_pieces(&f, chance, o);
    if (!status && options->smooth > 0) status = smooth_labels(&f, chance, chance + count, o);
    memory_free(chance);
    return status;
}

void outline_clear(Outline *o)
{
    memory_free(o->label);
    memory_free(o->refused);
    memory_free(o->margin);
    *o = (Outline){0};
}
