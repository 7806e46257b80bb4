/* Prints what laying reaches: bricks, the proven bound, the gap, time, processor time and work a
 * cell, beside two plain ways of laying. Arguments: threads; then anything for the largest size
 * too. */
#include "base/bands.h"
#include "support/layouts.h"

#include <time.h>

static double seconds(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

static void row(const char *name, Layout *l, int panel, double effort, int threads)
{
    static bool edge[4096];
    Sizes sizes;
    layouts_default(&sizes);
    layout_cut(l, edge, panel ? panel : 4096);
    const TileField *f = &l->field;
    const double cells = (double)f->columns * f->rows;
    const size_t rows = layouts_row_runs(f, &sizes), largest = layouts_largest_first(f, &sizes);
    const LayOptions options = {.threads = threads, .effort = effort};
    Tiling tiling;
    Fault fault;
    const double begin = seconds(), begin_cpu = (double)clock() / CLOCKS_PER_SEC;
    if (tile_field(&tiling, f, &sizes, &options, NULL, &fault)) {
        printf("%s: %s\n", name, fault.text);
        return;
    }
    const double took = seconds() - begin;
    const double cpu = (double)clock() / CLOCKS_PER_SEC - begin_cpu;
    printf("%-22s %4dx%-4d %5d %6.2f %8zu %8.0f %6.2f %% %7.2f %6.1f %8.0f   %+5.1f %% %+5.1f %%\n",
           name, f->columns, f->rows, panel, effort, tiling.count, tiling.bound,
           100 * ((double)tiling.count / tiling.bound - 1), took, cpu * 1e6 / cells,
           tiling.work / cells, 100 * ((double)rows / (double)tiling.count - 1),
           100 * ((double)largest / (double)tiling.count - 1));
    fflush(stdout);
    tiling_clear(&tiling);
}

/* Smooth waves in 24 bands: large regions with round edges. */
static Layout waves(int columns, int rows, int noise)
{
    Layout l = layout_of(columns, rows);
    uint32_t state = 7;
    for (int r = 0; r < rows; r++)
        for (int c = 0; c < columns; c++) {
            const double x = c / 90.0, y = r / 90.0;
            double v = sin(3 * x + 1.3 * y) + sin(1.7 * y - x) + sin(2.1 * x * y / 3);
            v = (v + 3) * 4;
            if (noise) v += (double)(chance(&state) % 1000) / 1000.0;
            l.label[(size_t)r * (size_t)columns + (size_t)c] = (uint8_t)fmin(fmax(v, 0), 23);
        }
    return l;
}

static const char *const names[] = {
    "astronaut-32-nearest", "astronaut-48-nearest", "astronaut-48-diffused",
    "face-48-nearest",      "face-48-diffused",     "cup-48-nearest",
    "cup-48-diffused",      "coffee-48-nearest",    "coffee-wide-nearest"};

int main(int count, char **argument)
{
    const int threads = count > 1 ? atoi(argument[1]) : bands_processors();
    const double efforts[] = {0, 0.25, 1};
    printf("%d threads\n%-22s %9s %5s %6s %8s %8s %8s %7s %6s %8s   %7s %7s\n", threads, "field",
           "cells", "panel", "effort", "bricks", "bound", "gap", "s", "us/c", "work/c", "rows",
           "largest");
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        for (int e = 0; e < 3; e++) {
            Layout l = layout_read(names[i], 0, 0);
            row(names[i], &l, 48, efforts[e], threads);
            layout_clear(&l);
        }
    static const int large[][2] = {{480, 360}, {2000, 1500}};
    for (int k = 0; k < (count > 2 ? 2 : 1); k++)
        for (int e = 0; e < 2; e++) {
            const int c = large[k][0], r = large[k][1];
            Layout l = waves(c, r, 0);
            row("waves", &l, 48, efforts[e], threads);
            row("waves", &l, 0, efforts[e], threads);
            layout_clear(&l);
            l = waves(c, r, 1);
            row("waves, dithered", &l, 48, efforts[e], threads);
            layout_clear(&l);
            l = layout_read("cup-48-nearest", c, r);
            row("cup enlarged", &l, 48, efforts[e], threads);
            layout_clear(&l);
        }
    return 0;
}
