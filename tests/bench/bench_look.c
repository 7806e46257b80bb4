/* What the search is worth, as ratios: its perceived difference by that of the nearest
 * colour and of error diffusion, its bricks by the nearest colour's, over pictures and
 * distances; and its seconds for 480x360 cells.
 *
 *     bench_look [PICTURE.png...]      sRGB; without any, tests/data/pictures and three made up */
#include "base/bands.h"
#include "cells/dither.h"
#include "cells/look.h"
#include "cells/match.h"
#include "cells/tone.h"
#include "eye/eye.h"
#include "support/faces.h"

#include <math.h>
#include <stdio.h>
#include <time.h>

enum { COLUMNS = 240, ROWS = 180, DISTANCES = 3, FIGURES = 6, MADE_UP = 3 };

static const double distances[DISTANCES] = {4000, 8000, 16000};
static const char *const figure_names[FIGURES] = {"by best",  "by nearest", "bricks",
                                                  "half way", "close by",   "original"};

static double seconds(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* Ramps of three hues; soft blobs on a dark ground; bars that get narrower. */
static void make_up(int which, Image *image)
{
    if (image_init(image, COLUMNS, ROWS, NULL)) abort();
    for (int row = 0; row < ROWS; row++)
        for (int column = 0; column < COLUMNS; column++) {
            const double x = (double)column / COLUMNS, y = (double)row / ROWS;
            Lab lab;
            if (which == 0) {
                const int band = (int)(3.0 * y);
                lab = (Lab){10.0 + 85.0 * x, 25.0 * (band - 1), 30.0 * (1 - band) * (1.0 - x)};
            } else if (which == 1) {
                double light = 0.0, warm = 0.0;
                for (int i = 0; i < 5; i++) {
                    const double dx = x - 0.15 - 0.17 * i, dy = y - 0.3 - 0.1 * (i * 3 % 5);
                    const double near = exp(-(dx * dx + dy * dy) / (0.004 + 0.003 * i));
                    light += near;
                    warm += near * (i % 2 ? 1.0 : 0.4);
                }
                lab = (Lab){15.0 + 60.0 * fmin(light, 1.2), 18.0 * warm, 25.0 * warm - 5.0};
            } else {
                const bool bar = fmod(600.0 * x * x / (1.0 + 0.2 * y), 8.0) < 4.0;
                lab = bar ? (Lab){25.0, 5.0, -20.0} : (Lab){88.0, -2.0, 12.0};
            }
            const Xyz c = xyz_from_lab(lab);
            float *to = image->xyz + 3 * ((size_t)row * COLUMNS + (size_t)column);
            to[0] = (float)c.x, to[1] = (float)c.y, to[2] = (float)c.z;
        }
}

static double seen(const Image *reference, const Palette *palette, const Grid *grid, Viewpoint view,
                   double distance)
{
    EyeResult result;
    view.distance_mm = distance;
    if (eye_measure(reference, palette, grid,
                    &(EyeOptions){.viewpoint = view, .threads = bands_processors()}, &result, NULL))
        abort();
    return result.mean;
}

typedef struct Faces {
    const Palette *palette;
    Image original, fitted;
    Grid nearest, diffusion, look;
} Faces;

static void compare(Faces *f, Build build, double thrift, double sum[DISTANCES][FIGURES])
{
    LookOptions o = LOOK_OPTIONS_DEFAULT;
    o.build = build;
    o.thrift = thrift;
    if (thrift <= 0.0) o.detail = o.calm = 0.0; /* the look from the distance alone */
    o.threads = bands_processors();
    o.viewpoint.cell_height_mm = build == BUILD_WALL ? 9.6 : 8.0;
    for (int d = 0; d < DISTANCES; d++) {
        o.viewpoint.distance_mm = distances[d];
        if (look_search(&f->fitted, f->palette, &o, &f->look, NULL, NULL)) abort();
        const Viewpoint view = o.viewpoint;
        const double nearest = seen(&f->fitted, f->palette, &f->nearest, view, distances[d]);
        const double diffusion = seen(&f->fitted, f->palette, &f->diffusion, view, distances[d]);
        const double got = seen(&f->fitted, f->palette, &f->look, view, distances[d]);
        const long bricks = build == BUILD_WALL ? bricks_wall(&f->look) : bricks_plaque(&f->look);
        const long plain =
            build == BUILD_WALL ? bricks_wall(&f->nearest) : bricks_plaque(&f->nearest);
        const double figure[FIGURES] = {
            got / fmin(nearest, diffusion),
            got / nearest,
            (double)bricks / (double)plain,
            seen(&f->fitted, f->palette, &f->look, view, 0.5 * distances[d]) /
                seen(&f->fitted, f->palette, &f->nearest, view, 0.5 * distances[d]),
            seen(&f->fitted, f->palette, &f->look, view, 0.0) /
                seen(&f->fitted, f->palette, &f->nearest, view, 0.0),
            seen(&f->original, f->palette, &f->look, view, distances[d]) /
                seen(&f->original, f->palette, &f->nearest, view, distances[d])};
        for (int i = 0; i < FIGURES; i++) sum[d][i] += figure[i];
    }
}

static void print_table(double sum[DISTANCES][FIGURES], int pictures)
{
    printf("  distance");
    for (int i = 0; i < FIGURES; i++) printf(" %10s", figure_names[i]);
    double mean[FIGURES] = {0};
    for (int d = 0; d < DISTANCES; d++) {
        printf("\n  %6.0f m ", distances[d] / 1000.0);
        for (int i = 0; i < FIGURES; i++) {
            printf(" %10.3f", sum[d][i] / pictures);
            mean[i] += sum[d][i] / pictures / DISTANCES;
        }
    }
    printf("\n  mean    ");
    for (int i = 0; i < FIGURES; i++) printf(" %10.3f", mean[i]);
    printf("\n");
}

static void read_faces(Faces *f, const char *path, int which)
{
    if (!path)
        make_up(which, &f->original);
    else if (!picture_read(path, COLUMNS, ROWS, &f->original)) {
        fprintf(stderr, "%s: not a PNG that can be read\n", path);
        exit(1);
    }
    const int threads = bands_processors();
    if (tone_fit(&f->original, f->palette, threads, NULL, &f->fitted, NULL) ||
        grid_init(&f->nearest, COLUMNS, ROWS, false, NULL) ||
        grid_init(&f->diffusion, COLUMNS, ROWS, false, NULL) ||
        grid_init(&f->look, COLUMNS, ROWS, false, NULL) ||
        match_image(&(MatchTask){.palette = f->palette, .image = &f->fitted, .threads = threads},
                    &f->nearest, NULL) ||
        dither_floyd_steinberg(f->palette, &f->fitted, &dither_defaults, &f->diffusion, NULL))
        abort();
}

static void clear_faces(Faces *f)
{
    image_clear(&f->original);
    image_clear(&f->fitted);
    grid_clear(&f->nearest);
    grid_clear(&f->diffusion);
    grid_clear(&f->look);
}

static void time_search(const Palette *palette, const char *path)
{
    Image image, fitted;
    Grid grid;
    if (!picture_read(path, 480, 360, &image) || grid_init(&grid, 480, 360, false, NULL)) exit(1);
    const int threads = bands_processors();
    const double start = seconds();
    if (tone_fit(&image, palette, threads, NULL, &fitted, NULL)) abort();
    printf("480x360 cells on %d threads: tone %.3f s", threads, seconds() - start);
    for (int d = 0; d < DISTANCES; d++) {
        LookOptions o = LOOK_OPTIONS_DEFAULT;
        o.viewpoint.distance_mm = distances[d];
        o.threads = threads;
        const double before = seconds();
        if (look_search(&fitted, palette, &o, &grid, NULL, NULL)) abort();
        const double between = seconds();
        const double mean = seen(&fitted, palette, &grid, o.viewpoint, distances[d]);
        printf("; %.0f m: search %.2f s, measure %.2f s (%.2f)", distances[d] / 1000.0,
               between - before, seconds() - between, mean);
    }
    printf("\n");
    image_clear(&image);
    image_clear(&fitted);
    grid_clear(&grid);
}

int main(int argc, char **argv)
{
    static const char *const known[2] = {"tests/data/pictures/astronaut.png",
                                         "tests/data/pictures/coffee.png"};
    Palette *palette = calloc(1, sizeof *palette);
    if (!palette || palette_default(palette, NULL)) return 1;
    const int pictures = argc > 1 ? argc - 1 : 2 + MADE_UP;
    static double sum[3][DISTANCES][FIGURES];
    for (int n = 0; n < pictures; n++) {
        Faces f = {.palette = palette};
        read_faces(&f, argc > 1 ? argv[n + 1] : n < 2 ? known[n] : NULL, n - 2);
        compare(&f, BUILD_PLAQUE, 0.0, sum[0]);
        compare(&f, BUILD_PLAQUE, LOOK_OPTIONS_DEFAULT.thrift, sum[1]);
        compare(&f, BUILD_WALL, LOOK_OPTIONS_DEFAULT.thrift, sum[2]);
        clear_faces(&f);
    }
    static const char *const name[3] = {"plaque, thrift 0", "plaque, default", "wall, default"};
    for (int i = 0; i < 3; i++) {
        printf("%s, %d pictures of %dx%d cells, %d colours:\n", name[i], pictures, COLUMNS, ROWS,
               palette->count);
        print_table(sum[i], pictures);
    }
    time_search(palette, argc > 1 ? argv[1] : known[0]);
    free(palette);
    return 0;
}
