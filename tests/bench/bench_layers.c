/* Prints what it takes to bring a subject out: from strokes of three layers on the open photograph
 * to steps, at some sizes; at full size, and at a pixel a cell for a first answer. Each stage in
 * milliseconds, the best of five, and all in times of what it takes to turn the pixels into
 * CIELAB. Argument: threads. */
#include "base/bands.h"
#include "base/raster.h"
#include "layers/cell_labels.h"
#include "layers/geodesic.h"
#include "layers/heights.h"
#include "layers/outline.h"
#include "support/pictures.h"

#include <math.h>
#include <stdio.h>
#include <time.h>

static double milliseconds(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec * 1e3 + (double)t.tv_nsec * 1e-6;
}

typedef struct Times {
    double lab, outline, cells, heights, all;
    double cpu; /* of all threads together: on a busy machine it tells more */
} Times;

/* A picture of cells, some pixels each. */
typedef struct Scene {
    int columns, rows, per, threads;
    Image image;
    uint8_t *stroke;
} Scene;

enum { LABELS = 4 };

/* The photograph's middle, whatever the size: each pixel the nearest of it. */
static void scene_init(Scene *s, const Image *photograph, const Raster *strokes)
{
    const int wide = s->columns * s->per, high = s->rows * s->per;
    const double scale = fmax((double)wide / photograph->columns, (double)high / photograph->rows);
    if (image_init(&s->image, wide, high, NULL)) abort();
    s->stroke = malloc((size_t)wide * (size_t)high);
    for (int y = 0; y < high; y++)
        for (int x = 0; x < wide; x++) {
            const int u = (int)(photograph->columns / 2.0 + (x + 0.5 - wide / 2.0) / scale);
            const int v = (int)(photograph->rows / 2.0 + (y + 0.5 - high / 2.0) / scale);
            const size_t from = (size_t)v * (size_t)photograph->columns + (size_t)u;
            const size_t to = (size_t)y * (size_t)wide + (size_t)x;
            memcpy(s->image.xyz + 3 * to, photograph->xyz + 3 * from, 3 * sizeof(float));
            const uint8_t index =
                strokes->sample[(strokes->height - 1 - (uint32_t)v) * strokes->width + (uint32_t)u];
            s->stroke[to] = index ? (uint8_t)(index - 1) : LABEL_NONE;
        }
}

static void find_cells(const Scene *s, const uint8_t *label, uint8_t *cell)
{
    const size_t cells = (size_t)s->columns * (size_t)s->rows;
    const int wide = s->image.columns, high = s->image.rows;
    float *share = malloc(LABELS * cells * sizeof *share), *drawn = malloc(LABELS * cells * 4);
    LabelPicture picture = {wide, high, label, 0, 0, wide, high};
    cell_shares(&picture, LABELS, s->columns, s->rows, s->threads, share);
    picture.label = s->stroke;
    cell_shares(&picture, LABELS, s->columns, s->rows, s->threads, drawn);
    cell_labels(&CELL_LABELS_OF_STROKES,
                &(CellShares){LABELS, s->columns, s->rows, s->threads, share, drawn}, cell, NULL);
    free(share);
    free(drawn);
}

static void raise(const Scene *s, const uint8_t *cell)
{
    LayerList list = {.count = LABELS};
    const size_t cells = (size_t)s->columns * (size_t)s->rows;
    float *L = calloc(cells, sizeof *L), *height = malloc(cells * sizeof *height);
    for (int l = 0; l < LABELS; l++)
        list.layer[l] = (Layer){.index = l + 1,
                                .height = l ? 3 : 0,
                                .profile = PROFILE_ROUNDED,
                                .rise = 6,
                                .on = l > 1};
    const HeightsInput input = {&list, s->columns, s->rows, cell, L, NULL};
    heights_solve(&input, s->threads, height, NULL, NULL);
    free(L);
    free(height);
}

static Times run(const Scene *s)
{
    LabPixels pixels;
    Outline outline;
    OutlineOptions options = OUTLINE_OPTIONS_DEFAULT;
    uint8_t *cell = malloc((size_t)s->columns * (size_t)s->rows);
    options.walker.length = 4.5 * s->per;
    options.smooth = 0.375 * s->per;
    const clock_t cpu = clock();
    const double begin = milliseconds();
    lab_pixels_init(&pixels, &s->image, 0.25 * s->per, s->threads, NULL);
    const double lab = milliseconds();
    outline_find(&options, &(StrokedPixels){&pixels, s->stroke, LABELS, s->threads}, &outline, NULL,
                 NULL);
    const double found = milliseconds();
    find_cells(s, outline.label, cell);
    const double labelled = milliseconds();
    raise(s, cell);
    const double end = milliseconds(), used = (double)(clock() - cpu) * 1e3 / CLOCKS_PER_SEC;
    outline_clear(&outline);
    lab_pixels_clear(&pixels);
    free(cell);
    return (Times){lab - begin, found - lab, labelled - found, end - labelled, end - begin, used};
}

int main(int count, char **argument)
{
    static const int size[][3] = {{200, 133, 3}, {200, 133, 1}, {480, 360, 3}, {480, 360, 1}};
    const int threads = count > 1 ? atoi(argument[1]) : bands_processors();
    Image photograph;
    Raster strokes;
    image_read(&photograph, picture_files[0], 1);
    if (raster_read_indices(&strokes, "tests/data/layers/astronaut-strokes.png", 1e9, NULL))
        abort();
    printf("%d threads, milliseconds\n%9s %6s %8s %8s %8s %8s %8s %8s %8s\n", threads, "cells",
           "pixels", "lab", "outline", "cells", "heights", "all", "cpu", "/ lab");
    for (size_t i = 0; i < sizeof size / sizeof *size; i++) {
        Scene s = {
            .columns = size[i][0], .rows = size[i][1], .per = size[i][2], .threads = threads};
        scene_init(&s, &photograph, &strokes);
        Times best = run(&s);
        for (int k = 1; k < 5; k++) {
            const Times t = run(&s);
            if (t.cpu < best.cpu) best = t;
        }
        printf("%4dx%-4d %6d %8.1f %8.1f %8.1f %8.1f %8.1f %8.1f %8.1f\n", s.columns, s.rows, s.per,
               best.lab, best.outline, best.cells, best.heights, best.all, best.cpu,
               best.all / best.lab);
        image_clear(&s.image);
        free(s.stroke);
    }
    raster_clear(&strokes);
    image_clear(&photograph);
    return 0;
}
