/* The picture becomes a histogram over cubes of CIELAB, of which those that are filled stand in a
 * list as they were met; each has its mean colour and its difference to the nearest of the palette.
 * Additions are tried among the means of the missing cubes, those first that miss most together;
 * the one that takes most from the sum of all differences is kept. That is one step of the greedy
 * choice of a palette (see study/palette_subset.h).
 *
 * Cubes, and additions, do not depend on each other and are shared out to threads. */
#include "eye/missing_colour.h"

#include "base/bands.h"
#include "base/memory.h"
#include "base/text.h"
#include "colour/delta_e.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/* Cubes are 4 a side, less than half of the least difference between colours of a palette; L from
 * 0 to 103, a and b from -128 to 127. */
enum { SIDE = 4, CUBES_L = 26, CUBES_AB = 64, CUBES = CUBES_L * CUBES_AB * CUBES_AB };
/* Additions that are tried; a choice for speed. */
enum { TRIED = 24 };
#define SHARE_TOLD 0.01

typedef struct Cube {
    double L, a, b; /* sums, then means */
    double cells;
    double nearest; /* CIEDE2000 to the palette */
} Cube;

/* The filled cubes, and where each of all stands among them: its place + 1, or 0. */
typedef struct Histogram {
    Cube *cube;
    int count;
    int32_t *at; /* CUBES */
} Histogram;

static int place(double value, double least, int count)
{
    const int at = (int)floor((value - least) / SIDE);
    return at < 0 ? 0 : at >= count ? count - 1 : at;
}

static Lab mean_of(const Cube *c) { return (Lab){c->L, c->a, c->b}; }

/* What is done to all of them: their differences, and what the first of them would gain. */
typedef struct Cubes {
    const MissingSearch *search;
    Cube *cube;
    int count;
    double gain[TRIED];
} Cubes;

static void add_cell(Histogram *h, Lab lab)
{
    int32_t *at =
        &h->at[(place(lab.L, 0, CUBES_L) * CUBES_AB + place(lab.a, -128, CUBES_AB)) * CUBES_AB +
               place(lab.b, -128, CUBES_AB)];
    if (!*at) *at = ++h->count;
    Cube *cube = &h->cube[*at - 1];
    cube->L += lab.L;
    cube->a += lab.a;
    cube->b += lab.b;
    cube->cells++;
}

/* Rows of an image as Lab. */
typedef struct LabBlock {
    const Image *image;
    int first; /* row of the image */
    Lab *lab;
} LabBlock;

static void turn_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    const LabBlock *block = context;
    const int columns = block->image->columns;
    for (int row = begin; row < end; row++)
        for (int column = 0; column < columns; column++)
            block->lab[(size_t)row * (size_t)columns + (size_t)column] =
                lab_from_xyz(image_at(block->image, column, block->first + row));
}

/* Block by block, and cells in their order, so that sums are the same for any number of threads. */
static Status count_cells(const MissingSearch *search, Histogram *h, Fault *fault)
{
    enum { ROWS_AT_ONCE = 64 };
    const Image *image = search->image;
    const size_t columns = (size_t)image->columns;
    LabBlock block = {.image = image,
                      .lab = memory_create(columns * ROWS_AT_ONCE, sizeof *block.lab)};
    if (!block.lab) return memory_fault(fault, columns * ROWS_AT_ONCE, sizeof *block.lab);
    for (; block.first < image->rows && !voice_stopped(search->voice);
         block.first += ROWS_AT_ONCE) {
        const int left = image->rows - block.first,
                  rows = left < ROWS_AT_ONCE ? left : ROWS_AT_ONCE;
        bands_run(search->threads, rows, 4, turn_rows, &block);
        for (size_t i = 0; i < (size_t)rows * columns; i++) add_cell(h, block.lab[i]);
    }
    memory_free(block.lab);
    return STATUS_OK;
}

static void find_means(Histogram *h)
{
    for (Cube *c = h->cube; c < h->cube + h->count; c++)
        c->L /= c->cells, c->a /= c->cells, c->b /= c->cells;
}

static void find_nearest(void *context, int begin, int end, int worker)
{
    (void)worker;
    const Cubes *cubes = context;
    const MissingSearch *s = cubes->search;
    for (Cube *c = cubes->cube + begin; c < cubes->cube + end; c++) {
        c->nearest = INFINITY;
        for (int k = 0; k < s->colours; k++)
            c->nearest = fmin(c->nearest, delta_e_2000(mean_of(c), s->palette->colour[k].lab));
    }
}

/* What missing cubes miss, the most first; the rest behind. */
static int compare_missed(const void *left, const void *right)
{
    const Cube *p = left, *q = right;
    const double a = p->nearest > MISSING_LIMIT ? p->nearest * p->cells : 0;
    const double b = q->nearest > MISSING_LIMIT ? q->nearest * q->cells : 0;
    if (a != b) return a > b ? -1 : 1;
    if (p->L != q->L) return p->L < q->L ? -1 : 1;
    if (p->a != q->a) return p->a < q->a ? -1 : 1;
    return (p->b > q->b) - (p->b < q->b);
}

static void find_gains(void *context, int begin, int end, int worker)
{
    (void)worker;
    Cubes *cubes = context;
    for (int k = begin; k < end; k++) {
        const Lab addition = mean_of(&cubes->cube[k]);
        double sum = 0;
        for (const Cube *c = cubes->cube; c < cubes->cube + cubes->count; c++)
            sum += c->cells * fmax(0, c->nearest - delta_e_2000(mean_of(c), addition));
        cubes->gain[k] = sum;
    }
}

/* How many of the cubes are tried as additions: of those that miss, the first. */
static int additions_of(const Cubes *cubes)
{
    int tried = 0;
    while (tried < TRIED && tried < cubes->count && cubes->cube[tried].nearest > MISSING_LIMIT)
        tried++;
    return tried;
}

/* The share that the addition mends, and its mean colour. */
static void find_mended(const Cube *cube, int count, double cells, MissingColour *m)
{
    double mended = 0;
    Lab sum = {0, 0, 0};
    for (int i = 0; i < count && cube[i].nearest > MISSING_LIMIT; i++) {
        if (delta_e_2000(mean_of(&cube[i]), m->addition) > MISSING_LIMIT) continue;
        sum.L += cube[i].cells * cube[i].L;
        sum.a += cube[i].cells * cube[i].a;
        sum.b += cube[i].cells * cube[i].b;
        mended += cube[i].cells;
    }
    m->share = mended / cells;
    m->colour = (Lab){sum.L / mended, sum.a / mended, sum.b / mended};
}

static void find_missing(Cubes *cubes, MissingColour *out)
{
    enum { CUBES_AT_ONCE = 16 };
    const MissingSearch *s = cubes->search;
    const double cells = (double)s->image->columns * s->image->rows;
    bands_run_until(s->voice, s->threads, cubes->count, CUBES_AT_ONCE, find_nearest, cubes);
    qsort(cubes->cube, (size_t)cubes->count, sizeof *cubes->cube, compare_missed);
    const int tried = additions_of(cubes);
    bands_run_until(s->voice, s->threads, tried, 1, find_gains, cubes);
    for (int i = 0; i < tried; i++) {
        const double gain = cubes->gain[i] / cells;
        if (gain <= out->gain) continue;
        out->gain = gain;
        out->addition = mean_of(&cubes->cube[i]);
    }
    if (out->gain > 0) find_mended(cubes->cube, cubes->count, cells, out);
}

Status missing_colour_find(MissingColour *out, const MissingSearch *search, Fault *fault)
{
    *out = (MissingColour){0};
    const size_t cells = (size_t)search->image->columns * (size_t)search->image->rows;
    const size_t most = cells < CUBES ? cells : CUBES;
    Histogram h = {.cube = memory_create(most, sizeof *h.cube),
                   .at = memory_create(CUBES, sizeof *h.at)};
    Status status =
        h.cube && h.at ? count_cells(search, &h, fault) : memory_fault(fault, most, sizeof *h.cube);
    if (!status) {
        find_means(&h);
        find_missing(&(Cubes){.search = search, .cube = h.cube, .count = h.count}, out);
    }
    memory_free(h.cube);
    memory_free(h.at);
    return status;
}

bool missing_colour_matters(const MissingColour *m) { return m->share >= SHARE_TOLD; }

/* ---- words ---- */

/* Names of hues by CIELAB's angle, each up to so many degrees; ours. */
static const struct Hue {
    double end;
    const char *name;
} hues[] = {{15, "purplish red"},  {40, "red"},          {68, "orange"},        {100, "yellow"},
            {125, "yellow green"}, {170, "green"},       {220, "bluish green"}, {285, "blue"},
            {330, "purple"},       {361, "purplish red"}};

static const char *hue_name(Lab c)
{
    double angle = atan2(c.b, c.a) * 180 / acos(-1.0);
    if (angle < 0) angle += 360;
    size_t i = 0;
    while (angle >= hues[i].end) i++;
    return hues[i].name;
}

static void put_name(Lab c, char *text, size_t size)
{
    const double chroma = hypot(c.a, c.b);
    const char *light = c.L < 25 ? "very dark" : c.L < 45 ? "dark" : c.L < 65 ? "medium" : "light";
    const char *strength = chroma < 20 ? "greyish " : chroma < 50 ? "" : "vivid ";
    if (chroma < 5)
        snprintf(text, size, "%s grey", light);
    else
        snprintf(text, size, "%s %s%s", light, strength, hue_name(c));
}

static void put_share(double share, char *text, size_t size)
{
    number_text(text, size, 100 * share, share < 0.1 ? 1 : 0);
}

void missing_colour_text(const MissingColour *m, char *text, size_t size)
{
    char share[32], gain[32], name[64];
    uint8_t rgb[3];
    put_share(m->share, share, sizeof share);
    number_text(gain, sizeof gain, m->gain, 2);
    put_name(m->colour, name, sizeof name);
    srgb8_from_lab(m->addition, rgb);
    snprintf(text, size,
             "missing: %s %% of the picture is a %s (L %.0f, C %.0f) that no colour is within %.0f "
             "of; the closest addition would be L %.0f, a %.0f, b %.0f (#%02x%02x%02x); the look "
             "would gain %s",
             share, name, m->colour.L, hypot(m->colour.a, m->colour.b), MISSING_LIMIT,
             m->addition.L, m->addition.a, m->addition.b, rgb[0], rgb[1], rgb[2], gain);
}

void missing_colour_short(const MissingColour *m, char *text, size_t size)
{
    char share[32], gain[32], name[64];
    put_share(m->share, share, sizeof share);
    number_text(gain, sizeof gain, m->gain, 2);
    put_name(m->colour, name, sizeof name);
    snprintf(text, size, "%s (L %.0f, C %.0f) for %s %%: gains %s", name, m->colour.L,
             hypot(m->colour.a, m->colour.b), share, gain);
}
