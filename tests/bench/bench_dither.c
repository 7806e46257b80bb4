/* Error diffusion of a picture of 2000x1000 cells to 48 colours against libimagequant's remapping
 * of the same pixels to the same colours at its full dithering, one thread and its own time, in
 * turn: the median of several. Both choose by distances in a space of their own: ours in linear
 * light. Where that library is not installed, only the time a cell is printed. */
#include "cells/dither.h"
#include "support/chance.h"
#include "support/patches.h"

#include <dlfcn.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { COLUMNS = 2000, ROWS = 1000, CELLS = COLUMNS * ROWS, COLOURS = 48, RUNS = 9 };

/* What is used of libimagequant 2.x, whose header need not be there. */
typedef struct Rgba8 {
    uint8_t r, g, b, a;
} Rgba8;

typedef struct Peer {
    void *(*attributes)(void);
    void *(*image)(const void *attributes, const void *rgba, int width, int height, double gamma);
    int (*most)(void *attributes, int colours);
    int (*fixed)(void *image, Rgba8 colour);
    int (*quantize)(void *image, void *attributes, void **result_out);
    int (*dithering)(void *result, float level);
    int (*remap)(void *result, void *image, void *pixels, size_t size);
    void (*destroy[3])(void *);
} Peer;

static double seconds(void)
{
    struct timespec t;
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* POSIX gives functions as pointers to data. */
static void find(void *library, const char *name, void *function)
{
    void *found = dlsym(library, name);
    if (!found) abort();
    memcpy(function, &found, sizeof found);
}

static bool find_peer(Peer *p)
{
    setenv("OMP_NUM_THREADS", "1", 1);
    void *library = dlopen("libimagequant.so.0", RTLD_NOW);
    if (!library) return false;
    find(library, "liq_attr_create", &p->attributes);
    find(library, "liq_image_create_rgba", &p->image);
    find(library, "liq_set_max_colors", &p->most);
    find(library, "liq_image_add_fixed_color", &p->fixed);
    find(library, "liq_image_quantize", &p->quantize);
    find(library, "liq_set_dithering_level", &p->dithering);
    find(library, "liq_write_remapped_image", &p->remap);
    find(library, "liq_result_destroy", &p->destroy[0]);
    find(library, "liq_image_destroy", &p->destroy[1]);
    find(library, "liq_attr_destroy", &p->destroy[2]);
    return true;
}

/* Broad soft shapes with grain. */
static void paint(uint8_t *rgba, Image *image)
{
    uint32_t seed = 1;
    if (image_init(image, COLUMNS, ROWS, NULL)) abort();
    for (int i = 0; i < CELLS; i++) {
        const int x = i % COLUMNS, y = i / COLUMNS;
        const double wave = sin(x * 0.05 + y * 0.012) + sin(y * 0.075 - x * 0.009);
        const double disc = hypot(x % 120 - 60, y % 104 - 52) < 32 ? 45 : 0;
        const double grain = chance_unit(&seed) * 20 - 10;
        uint8_t *p = rgba + 4 * i;
        for (int c = 0; c < 3; c++)
            p[c] = (uint8_t)(110 + 40 * wave * (1 - 0.3 * c) + disc * (c - 0.7) + grain);
        p[3] = 255;
        const Xyz xyz = xyz_from_linear(
            (Rgb){srgb_decode(p[0] / 255.0), srgb_decode(p[1] / 255.0), srgb_decode(p[2] / 255.0)});
        float *out = image->xyz + 3 * ((size_t)(ROWS - 1 - y) * COLUMNS + (size_t)x);
        out[0] = (float)xyz.x;
        out[1] = (float)xyz.y;
        out[2] = (float)xyz.z;
    }
}

static double time_peer(const Peer *p, const Palette *palette, const uint8_t *rgba, void *pixels)
{
    void *attributes = p->attributes(), *image, *result = NULL;
    p->most(attributes, palette->count);
    image = p->image(attributes, rgba, COLUMNS, ROWS, 0);
    for (int i = 0; i < palette->count; i++) {
        uint8_t c[3];
        srgb8_from_lab(palette->colour[i].lab, c);
        p->fixed(image, (Rgba8){c[0], c[1], c[2], 255});
    }
    if (p->quantize(image, attributes, &result)) abort();
    p->dithering(result, 1.0f);
    const double start = seconds();
    if (p->remap(result, image, pixels, CELLS)) abort();
    const double took = seconds() - start;
    p->destroy[0](result);
    p->destroy[1](image);
    p->destroy[2](attributes);
    return took;
}

static int by_value(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

int main(void)
{
    static Palette palette;
    Image image;
    Grid grid;
    Peer peer;
    uint8_t *rgba = malloc(4 * (size_t)CELLS), *pixels = malloc(CELLS);
    if (!rgba || !pixels || grid_init(&grid, COLUMNS, ROWS, false, NULL)) return 1;
    palette_of_draws(&palette, COLOURS, 48);
    paint(rgba, &image);
    const bool there = find_peer(&peer);
    double took[RUNS], ratio[RUNS];
    for (int run = 0; run < RUNS; run++) {
        const double start = seconds();
        if (dither_floyd_steinberg(&palette, &image, &dither_defaults, &grid, NULL)) return 1;
        took[run] = seconds() - start;
        if (there) ratio[run] = took[run] / time_peer(&peer, &palette, rgba, pixels);
    }
    qsort(took, RUNS, sizeof *took, by_value);
    printf("dither: %d cells, %d colours: %.0f ns a cell", CELLS, COLOURS,
           1e9 * took[RUNS / 2] / CELLS);
    if (there) {
        qsort(ratio, RUNS, sizeof *ratio, by_value);
        printf(", %.2f times libimagequant's", ratio[RUNS / 2]);
    }
    printf("\n");
    grid_clear(&grid);
    image_clear(&image);
    free(rgba);
    free(pixels);
    return 0;
}
