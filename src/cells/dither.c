/* Error diffusion (Floyd and Steinberg 1976, Proc. SID 17(2):75-77) and a blue-noise mask
 * (Ulichney 1993, SPIE 1913, void and cluster), over any palette.
 *
 * Both choose the nearest colour in linear light and hand on what is missing:
 * error diffusion to the cells that follow, blue noise to the next of the colours that
 * are mixed for the same cell. What is handed on is capped (dither_cap). Invariant: where nothing
 * is capped and all of it is shared, errors only move, so means over areas are the picture's. */
#include "cells/dither.h"

#include "base/bands.h"
#include "base/memory.h"
#include "base/simd4.h"

#include <assert.h>
#include <math.h>
#include <stdatomic.h>
#include <string.h>

/* Choices, no source; tests/cells/test_dither has what they give. */
const DitherOptions dither_defaults = {.cap = 0.25, .share = 1.0, .mixed = 16, .threads = 1};

enum { LIGHTS_FOURS = (PALETTE_MOST + 3) / 4 };

/* The palette in linear sRGB, and once more in fours for the search; what is barred, and what is
 * left of the last four, is infinitely far. */
typedef struct Lights {
    int count, fours; /* the last that may be chosen */
    double cap;       /* see dither_cap */
    Rgb colour[PALETTE_MOST];
    Simd4 r[LIGHTS_FOURS], g[LIGHTS_FOURS], b[LIGHTS_FOURS];
} Lights;

/* barred: NULL: nothing is. */
static void lights_of(Lights *lights, const Palette *palette, int offered, const Barred *barred)
{
    lights->count = offered > 0 ? offered : palette->count;
    lights->fours = (lights->count + 3) / 4;
    for (int i = 0; i < palette->count; i++)
        lights->colour[i] = linear_from_xyz(palette->colour[i].xyz);
    for (int i = 0; i < 4 * lights->fours; i++) {
        const Rgb far = {INFINITY, INFINITY, INFINITY};
        const bool free = i < lights->count && !(barred && barred->colour[i]);
        const Rgb c = free ? lights->colour[i] : far;
        lights->r[i / 4][i % 4] = (float)c.r;
        lights->g[i / 4][i % 4] = (float)c.g;
        lights->b[i / 4][i % 4] = (float)c.b;
    }
}

static Rgb plus(Rgb c, Rgb d) { return (Rgb){c.r + d.r, c.g + d.g, c.b + d.b}; }
static Rgb minus(Rgb c, Rgb d) { return (Rgb){c.r - d.r, c.g - d.g, c.b - d.b}; }
static Rgb rgb_scaled(Rgb c, double k) { return (Rgb){k * c.r, k * c.g, k * c.b}; }
static double square(Rgb c) { return c.r * c.r + c.g * c.g + c.b * c.b; }

/* Index of the nearest in linear light, the lower of equals: to choose by another
 * measure than the one that is carried lets errors grow. */
static int nearest_light(const Lights *lights, Rgb wanted)
{
    Simd4 least = simd4(INFINITY);
    Simd4Whole best = {0, 0, 0, 0};
    for (int i = 0; i < lights->fours; i++) {
        const Simd4 r = lights->r[i] - (float)wanted.r, g = lights->g[i] - (float)wanted.g;
        const Simd4 b = lights->b[i] - (float)wanted.b, away = r * r + g * g + b * b;
        const Simd4Whole nearer = away < least;
        least = simd4_either(nearer, away, least);
        best = (nearer & i) | (best & ~nearer);
    }
    int lane = 0;
    for (int k = 1; k < 4; k++)
        if (least[k] < least[lane] || (least[k] == least[lane] && best[k] < best[lane])) lane = k;
    return 4 * best[lane] + lane;
}

static bool is_free(const Lights *lights, int i) { return lights->r[i / 4][i % 4] < INFINITY; }

static double cap_of(const Lights *lights, double least)
{
    double widest = 0.0;
    for (int i = 0; i < lights->count; i++)
        for (int j = 0; j < i; j++) {
            if (!is_free(lights, i) || !is_free(lights, j)) continue;
            const Rgb middle = rgb_scaled(plus(lights->colour[i], lights->colour[j]), 0.5);
            const double half = sqrt(square(minus(middle, lights->colour[i])));
            if (half <= widest) continue;
            const Rgb closest = lights->colour[nearest_light(lights, middle)];
            if (sqrt(square(minus(middle, closest))) > half * (1.0 - 1e-6)) widest = half;
        }
    return fmax(least, sqrt(1.5) * widest);
}

double dither_cap(const Palette *palette, const DitherOptions *options)
{
    Lights lights;
    lights_of(&lights, palette, options->keep.offered, NULL);
    return cap_of(&lights, options->cap);
}

/* What each region may take; one where there are none. */
static Status lights_create(Lights **lights_out, const Palette *palette,
                            const DitherOptions *options, Fault *fault)
{
    const Keep *keep = &options->keep;
    const size_t regions = keep->region ? (size_t)keep->regions : 1;
    Lights *lights = memory_create(regions, sizeof *lights);
    if (!lights) return memory_fault(fault, regions, sizeof *lights);
    for (size_t i = 0; i < regions; i++) {
        lights_of(&lights[i], palette, keep->offered, keep->region ? &keep->barred[i] : NULL);
        lights[i].cap = cap_of(&lights[i], options->cap);
    }
    *lights_out = lights;
    return STATUS_OK;
}

/* The lights of a cell. */
static const Lights *lights_at(const Lights *lights, const Keep *keep, size_t cell)
{
    return keep->region ? &lights[keep->region[cell]] : lights;
}

/* The error no longer than the cap. Where the picture lies beyond what the palette can
 * mix, errors never cancel, and would grow without end. */
static Rgb capped_error(Rgb error, double cap)
{
    const double size = sqrt(square(error));
    return size > cap ? rgb_scaled(error, cap / size) : error;
}

static void carry(Rgb *to, Rgb error, double weight) { *to = plus(*to, rgb_scaled(error, weight)); }

/* Two rows of errors, on their way to the cells that follow. */
typedef struct Diffusion {
    const Lights *lights; /* by region */
    const Image *image;
    double share;
    Keep keep;
    Rgb *here, *below; /* a cell more at either end */
} Diffusion;

/* Where a row's errors go: 7/16 to the next cell and 3/16, 5/16, 1/16 to the three
 * below, which is one in all, exactly. What would fall off a side goes straight down. */
static void diffuse_row(const Diffusion *d, int row, int step, uint8_t *out)
{
    const int columns = d->image->columns, last = step > 0 ? columns - 1 : 0;
    const size_t first = (size_t)row * (size_t)columns;
    const bool *kept = d->keep.cell ? d->keep.cell + first : NULL;
    for (int n = 0, x = columns - 1 - last; n < columns; n++, x += step) {
        const Rgb wanted = plus(linear_from_xyz(image_at(d->image, x, row)), d->here[x + 1]);
        const Lights *lights = lights_at(d->lights, &d->keep, first + (size_t)x);
        if (!kept || !kept[x]) out[x] = (uint8_t)nearest_light(lights, wanted);
        const Rgb left = capped_error(minus(wanted, lights->colour[out[x]]), lights->cap);
        const Rgb error = rgb_scaled(left, d->share);
        const double behind = n > 0 ? 3.0 / 16.0 : 0.0, next = x != last ? 7.0 / 16.0 : 0.0;
        const double beyond = x != last ? 1.0 / 16.0 : 0.0;
        carry(&d->here[x + 1 + step], error, next);
        carry(&d->below[x + 1 - step], error, behind);
        carry(&d->below[x + 1 + step], error, beyond);
        carry(&d->below[x + 1], error, 1.0 - next - behind - beyond);
    }
}

static Status dither_stopped(Fault *fault)
{
    return fault_set(fault, STATUS_INTERRUPTED, "dithering: stopped; run it again");
}

/* Rows from the top, to and fro. */
static Status diffuse_rows(Diffusion *d, Grid *grid, const Voice *voice, Fault *fault)
{
    const size_t errors = (size_t)grid->columns + 2;
    for (int row = grid->rows - 1, step = 1; row >= 0; row--, step = -step) {
        if (voice_stopped(voice)) return dither_stopped(fault);
        memset(d->below, 0, errors * sizeof *d->below);
        diffuse_row(d, row, step, grid->colour + (size_t)row * (size_t)grid->columns);
        Rgb *const done = d->here;
        d->here = d->below;
        d->below = done;
    }
    return STATUS_OK;
}

Status dither_floyd_steinberg(const Palette *palette, const Image *image,
                              const DitherOptions *options, Grid *grid, Fault *fault)
{
    assert(grid->columns == image->columns && grid->rows == image->rows && options->cap > 0.0);
    const size_t cells = (size_t)image->columns + 2;
    Lights *lights;
    Status status = lights_create(&lights, palette, options, fault);
    if (status) return status;
    Rgb *errors = memory_create(2 * cells, sizeof *errors);
    if (!errors) {
        memory_free(lights);
        return memory_fault(fault, 2 * cells, sizeof *errors);
    }
    Diffusion diffusion = {.lights = lights,
                           .image = image,
                           .share = options->share,
                           .keep = options->keep,
                           .here = errors,
                           .below = errors + cells};
    status = diffuse_rows(&diffusion, grid, options->voice, fault);
    memory_free(errors);
    memory_free(lights);
    return status;
}

/* The pattern of void and cluster while it is made. Energies are whole numbers, so that
 * they do not depend on the order in which cells came and went. */
enum { NOISE_REACH = 8, NOISE_WIDE = 2 * NOISE_REACH + 1, NOISE_START = NOISE_CELLS / 10 };
#define NOISE_SIGMA 1.5 /* cells, as Ulichney 1993 found best */

typedef struct Pattern {
    bool set[NOISE_CELLS];
    int32_t energy[NOISE_CELLS];
    int32_t around[NOISE_WIDE][NOISE_WIDE]; /* what one set cell adds: a Gaussian of 1.5 cells */
} Pattern;

/* Sets or clears a cell. */
static void toggle_cell(Pattern *p, int cell)
{
    const int sign = p->set[cell] ? -1 : 1, x = cell % NOISE_SIDE, y = cell / NOISE_SIDE;
    p->set[cell] = !p->set[cell];
    for (int v = 0; v < NOISE_WIDE; v++)
        for (int u = 0; u < NOISE_WIDE; u++) {
            const int row = (y + v - NOISE_REACH) & (NOISE_SIDE - 1);
            const int column = (x + u - NOISE_REACH) & (NOISE_SIDE - 1);
            p->energy[row * NOISE_SIDE + column] += sign * p->around[v][u];
        }
}

/* The set cell with most of its like around, or the clear one with fewest. */
static int tightest(const Pattern *p)
{
    int best = -1;
    for (int i = 0; i < NOISE_CELLS; i++)
        if (p->set[i] && (best < 0 || p->energy[i] > p->energy[best])) best = i;
    return best;
}
static int emptiest(const Pattern *p)
{
    int best = -1;
    for (int i = 0; i < NOISE_CELLS; i++)
        if (!p->set[i] && (best < 0 || p->energy[i] < p->energy[best])) best = i;
    return best;
}

/* A tenth of the cells at random, spread until no move spreads them more. */
static void start_pattern(Pattern *p)
{
    memset(p, 0, sizeof *p);
    for (int v = -NOISE_REACH; v <= NOISE_REACH; v++)
        for (int u = -NOISE_REACH; u <= NOISE_REACH; u++)
            p->around[v + NOISE_REACH][u + NOISE_REACH] = (int32_t)lround(
                0x100000 * exp(-(u * u + v * v) / (2.0 * NOISE_SIGMA * NOISE_SIGMA)));
    uint32_t state = 1;
    for (int set = 0; set < NOISE_START;) {
        state = state * 1664525u + 1013904223u;
        const int cell = (int)(state >> 20);
        if (p->set[cell]) continue;
        toggle_cell(p, cell);
        set++;
    }
    for (int moves = 0; moves < NOISE_CELLS; moves++) {
        const int from = tightest(p);
        toggle_cell(p, from);
        const int to = emptiest(p);
        toggle_cell(p, to);
        if (to == from) return;
    }
}

/* Ranks below the start are given by taking cells away, those above by adding. The
 * third phase of 1993, which swaps the two kinds of cells for the upper half, chooses
 * the same on a torus: the two energies add up to a constant. */
void dither_noise(uint16_t rank[NOISE_CELLS])
{
    Pattern start, p;
    start_pattern(&start);
    p = start;
    for (int i = NOISE_START - 1; i >= 0; i--) {
        const int cell = tightest(&p);
        toggle_cell(&p, cell);
        rank[cell] = (uint16_t)i;
    }
    p = start;
    for (int i = NOISE_START; i < NOISE_CELLS; i++) {
        const int cell = emptiest(&p);
        toggle_cell(&p, cell);
        rank[cell] = (uint16_t)i;
    }
}

typedef struct Mixing {
    Lights *lights;                 /* by region */
    int by_luminance[PALETTE_MOST]; /* each colour's place, dark to light */
    uint16_t rank[NOISE_CELLS];
    double share;
    int mixed;
    Keep keep;
    const Image *image;
    Grid *grid;
    const Voice *voice;
    atomic_bool stopped;
} Mixing;

static void sort_by_luminance(Mixing *mixing, const Palette *palette)
{
    for (int i = 0; i < palette->count; i++)
        for (int j = 0; j < palette->count; j++) {
            const double one = palette->colour[i].xyz.y, two = palette->colour[j].xyz.y;
            mixing->by_luminance[i] += two < one || (two == one && j < i);
        }
}

/* The colours whose mean is nearest to a target, found by carrying on what is missing,
 * from dark to light. */
static void mix(const Mixing *mixing, const Lights *lights, Rgb target, uint8_t *chosen)
{
    const int *place = mixing->by_luminance;
    Rgb missing = {0, 0, 0};
    for (int n = 0; n < mixing->mixed; n++) {
        const Rgb wanted = plus(target, missing);
        const int colour = nearest_light(lights, wanted);
        missing = rgb_scaled(capped_error(minus(wanted, lights->colour[colour]), lights->cap),
                             mixing->share);
        int at = n;
        for (; at > 0 && place[chosen[at - 1]] > place[colour]; at--) chosen[at] = chosen[at - 1];
        chosen[at] = (uint8_t)colour;
    }
}

static void mix_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    Mixing *mixing = context;
    const Image *image = mixing->image;
    for (int row = begin; row < end; row++) {
        if (voice_stopped(mixing->voice)) atomic_store(&mixing->stopped, true);
        if (atomic_load(&mixing->stopped)) return;
        const size_t first = (size_t)row * (size_t)image->columns;
        uint8_t *out = mixing->grid->colour + first;
        const uint16_t *rank = mixing->rank + row % NOISE_SIDE * NOISE_SIDE;
        uint8_t chosen[DITHER_MOST_MIXED];
        Xyz before = {NAN, NAN, NAN};
        const Lights *mixed = NULL;
        const bool *kept = mixing->keep.cell ? mixing->keep.cell + first : NULL;
        for (int column = 0; column < image->columns; column++) {
            if (kept && kept[column]) continue;
            const Xyz xyz = image_at(image, column, row);
            const Lights *lights = lights_at(mixing->lights, &mixing->keep, first + (size_t)column);
            if (!(lights == mixed && xyz.x == before.x && xyz.y == before.y && xyz.z == before.z))
                mix(mixing, lights, linear_from_xyz(xyz), chosen);
            before = xyz;
            mixed = lights;
            out[column] = chosen[rank[column % NOISE_SIDE] * mixing->mixed / NOISE_CELLS];
        }
    }
}

Status dither_blue_noise(const Palette *palette, const Image *image, const DitherOptions *options,
                         Grid *grid, Fault *fault)
{
    assert(grid->columns == image->columns && grid->rows == image->rows && options->cap > 0.0);
    assert(options->mixed >= 2 && options->mixed <= DITHER_MOST_MIXED);
    Mixing *mixing = memory_create(1, sizeof *mixing);
    if (!mixing) return memory_fault(fault, 1, sizeof *mixing);
    Status status = lights_create(&mixing->lights, palette, options, fault);
    if (status) {
        memory_free(mixing);
        return status;
    }
    sort_by_luminance(mixing, palette);
    dither_noise(mixing->rank);
    mixing->share = options->share;
    mixing->mixed = options->mixed;
    mixing->keep = options->keep;
    mixing->image = image;
    mixing->grid = grid;
    mixing->voice = options->voice;
    bands_run(options->threads, image->rows, 1, mix_rows, mixing);
    status = atomic_load(&mixing->stopped) ? dither_stopped(fault) : STATUS_OK;
    memory_free(mixing->lights);
    memory_free(mixing);
    return status;
}
