/* Cells a second of match_all against a plain loop over lcms2's cmsCIE2000DeltaE, one thread and
 * its own time, in the same run: the median of several. */
#include "cells/match.h"
#include "colour/delta_e.h"
#include "support/patches.h"
#include "support/pictures.h"

#include <lcms2.h>
#include <math.h>
#include <stdio.h>
#include <time.h>

enum { COLOURS = 48, RUNS = 7, PLAIN = 4000 };

static double seconds(void)
{
    struct timespec t;
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static int plain_nearest(const Palette *palette, Lab lab)
{
    const cmsCIELab one = {lab.L, lab.a, lab.b};
    int best = 0;
    double least = INFINITY;
    for (int i = 0; i < palette->count; i++) {
        const Lab c = palette->colour[i].lab;
        const cmsCIELab two = {c.L, c.a, c.b};
        const double e = cmsCIE2000DeltaE(&one, &two, 1, 1, 1);
        if (e < least) {
            least = e;
            best = i;
        }
    }
    return best;
}

static int by_value(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static volatile int sink;

/* Making the palette ready counts. */
static void measure(const char *name, const Palette *palette, const Lab *lab, int count)
{
    double ratio[RUNS], each[RUNS];
    uint8_t *found = malloc((size_t)count);
    if (!found) abort();
    for (int run = 0; run < RUNS; run++) {
        const int stride = count > PLAIN ? count / PLAIN : 1;
        int plain = 0;
        const double start = seconds();
        for (int i = 0; i < count; i += stride, plain++) sink = plain_nearest(palette, lab[i]);
        const double middle = seconds();
        if (match_all(palette, lab, count, found, NULL) != STATUS_OK) abort();
        sink = found[count - 1];
        each[run] = (seconds() - middle) / count;
        ratio[run] = (middle - start) / plain / each[run];
    }
    free(found);
    qsort(ratio, RUNS, sizeof *ratio, by_value);
    qsort(each, RUNS, sizeof *each, by_value);
    printf("match: %s: %d colours, %d cells: %.0f times a plain loop (%.0f ns a cell)\n", name,
           palette->count, count, ratio[RUNS / 2], 1e9 * each[RUNS / 2]);
}

static void measure_picture(const Palette *palette, const char *file, int size)
{
    Image image;
    image_read(&image, file, size);
    const int count = image.columns * image.rows;
    Lab *lab = malloc((size_t)count * sizeof *lab);
    if (!lab) abort();
    for (int i = 0; i < count; i++)
        lab[i] = lab_from_xyz(image_at(&image, i % image.columns, i / image.columns));
    measure(file, palette, lab, count);
    free(lab);
    image_clear(&image);
}

int main(void)
{
    enum { RANDOM = 1000000 };
    static Palette palette;
    palette_of_draws(&palette, COLOURS, 48);
    Lab *lab = malloc(RANDOM * sizeof *lab);
    if (!lab) return 1;
    uint64_t state = 1;
    for (int i = 0; i < RANDOM; i++) lab[i] = draw_srgb(&state);
    measure("random colours", &palette, lab, RANDOM);
    free(lab);
    for (int size = 1; size <= 4; size *= 2)
        for (int i = 0; i < PICTURES; i++) measure_picture(&palette, picture_files[i], size);
    return 0;
}
