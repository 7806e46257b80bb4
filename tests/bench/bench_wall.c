/* Prints what the laying of walls reaches: bricks, the bound and the gap; flaws that are left and
 * the share of joints that lap a quarter; beside some of it what the layer before reached; time,
 * processor time a cell, and memory. Arguments: threads; then anything for the largest sizes too.
 * Pictures are the fields of tests/data/fields; waves and noise are by formula. */
#include "base/bands.h"
#include "bricks/lay_wall.h"
#include "hold/bond.h"
#include "hold/hollow.h"
#include "hold/relief_support.h"
#include "support/layouts.h"
#include "support/reliefs.h"
#include "support/walls_before.h"

#include <sys/resource.h>
#include <time.h>

static double seconds(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

static void heading(int threads)
{
    printf("%d threads\n%-18s %9s %5s %5s %8s %8s %8s %6s %5s %5s %5s %7s %6s %6s %6s\n", threads,
           "field", "cells", "thick", "panel", "bricks", "bound", "gap", "pieces", "weak", "laps",
           "3+", "s", "proof", "us/c", "MiB");
}

static Panels cut(int columns, int rows, int most)
{
    Panels p = {.across = (columns + most - 1) / most, .up = (rows + most - 1) / most};
    p.count = p.across * p.up;
    p.panel = calloc((size_t)p.count, sizeof *p.panel);
    if (!p.panel) abort();
    for (int i = 0; i < p.count; i++) {
        Panel *q = &p.panel[i];
        q->column = i % p.across * most;
        q->row = i / p.across * most;
        q->columns = columns - q->column < most ? columns - q->column : most;
        q->rows = rows - q->row < most ? rows - q->row : most;
    }
    return p;
}

/* Lays and surveys one wall; extra pieces, weak bricks and straight joints of three courses and
 * more are counted. */
static void row(const char *name, Grid *grid, int thickness, int most, int threads)
{
    Sizes sizes;
    layouts_default(&sizes);
    const Solid solid = {.grid = grid, .build = BUILD_WALL, .base = thickness};
    Panels panels = cut(grid->columns, grid->rows, most);
    const LayOptions options = {.threads = threads, .effort = 0.25};
    const double cells = (double)grid->columns * grid->rows;
    Laid laid = {0};
    LayReport report;
    StepChanges step_changes;
    Bond bond;
    Fault fault;
    const double begin = seconds(), begin_cpu = (double)clock() / CLOCKS_PER_SEC;
    if (relief_support_steps(&(Relief){grid, BUILD_WALL, thickness, &panels, &sizes}, &step_changes,
                             NULL, &fault) ||
        lay_wall(&(LayTask){&solid, &panels, &sizes}, &options, &laid, &report, NULL, &fault)) {
        printf("%s: %s\n", name, fault.text);
        exit(1);
    }
    const double middle = seconds();
    if (bond_init(&bond, &solid, &panels, &laid, threads, &fault)) exit(1);
    const double end = seconds(), cpu = (double)clock() / CLOCKS_PER_SEC - begin_cpu;
    int pieces = 0, weak = 0, straight = 0;
    double laps = 0;
    for (int p = 0; p < panels.count; p++) {
        pieces += bond.panel[p].pieces - 1;
        weak += bond.panel[p].weak;
    }
    for (size_t i = 0; i < laid.count; i++)
        laps += bond.panel[laid.brick[i].panel].quarter_lap / (double)laid.count;
    for (size_t i = 0; i < bond.flaws; i++) straight += bond.flaw[i].kind == FLAW_STRAIGHT_JOINT;
    struct rusage use;
    getrusage(RUSAGE_SELF, &use);
    printf("%-18.18s %4dx%-4d %5d %5d %8zu %8.0f %6.2f %% %6d %5d %5.3f %5d %7.2f %6.3f %6.2f "
           "%6.0f\n",
           name, grid->columns, grid->rows, thickness, most, report.bricks, report.lower_bound,
           100 * ((double)report.bricks / report.lower_bound - 1), pieces, weak, laps, straight,
           middle - begin, end - middle, cpu * 1e6 / cells, (double)use.ru_maxrss / 1024);
    fflush(stdout);
    bond_clear(&bond);
    laid_clear(&laid);
    step_changes_clear(&step_changes);
    free(panels.panel);
}

/* Waves in 24 bands, with or without the grain that error diffusion leaves. */
static void waves(Grid *grid, double grain)
{
    uint32_t state = 7;
    for (int y = 0; y < grid->rows; y++)
        for (int x = 0; x < grid->columns; x++) {
            const double u = x / 90.0, v = y / 90.0;
            double z = sin(3 * u + 1.3 * v) + sin(1.7 * v - u) + sin(2.1 * u * v / 3);
            z = (z + 3) * 4 + grain * (double)(chance(&state) % 1000) / 1000.0;
            const size_t i = (size_t)y * (size_t)grid->columns + (size_t)x;
            grid->colour[i] = (uint8_t)fmin(fmax(z, 0), 23);
            if (grid->steps) grid->steps[i] = (uint8_t)fmin(fmax(z / 2, 0), 12);
        }
}

static void wave_row(const char *name, int columns, int rows, bool relief, double grain,
                     int thickness, int most, int threads)
{
    Grid grid;
    if (grid_init(&grid, columns, rows, relief, NULL)) exit(1);
    waves(&grid, grain);
    row(name, &grid, thickness, most, threads);
    grid_clear(&grid);
}

/* What the layer before took (walls_before.h) for the large relief, one to three thick, and for
 * solid and hollow ones, one and three. */
static const int RELIEF_BEFORE[] = {73074, 80643, 88105}, SOLID_BEFORE[] = {4107, 4884},
                 HOLLOW_BEFORE[] = {4073, 5195};

static size_t lay_one(const LayTask *task, const LayOptions *options)
{
    Reached one = {0};
    reached_add(&one, task, options);
    return one.bricks;
}

static void beside(const char *name, int thickness, const Reached *before, const Reached *now)
{
    printf("%-18s %5d %8zu %8zu %6d %6d %8.4f %8.4f", name, thickness, before->bricks, now->bricks,
           before->weak, now->weak, before->laps, now->laps);
}

static void beside_heading(const char *name)
{
    printf("\n%-18s %5s %8s %8s %6s %6s %8s %8s\n", name, "thick", "before", "now", "before", "now",
           "before", "now");
    printf("%24s %17s %13s %17s\n", "", "bricks", "weak", "laps");
}

/* What was reached before, and now. */
static void flat_fields(void)
{
    beside_heading("flat fields");
    for (int thickness = 1; thickness <= 4; thickness++) {
        const Reached now = fields_reach(thickness);
        beside("", thickness, &FLAT_BEFORE[thickness - 1], &now);
        printf("\n");
    }
}

/* The same of reliefs, and the least of their courses. */
static void small_reliefs(void)
{
    beside_heading("small reliefs");
    for (int thickness = 1; thickness <= RELIEF_THICKEST; thickness++) {
        const Reached now = reliefs_reach(thickness);
        int least = 0;
        for (int i = 0; i < RELIEFS; i++) least += relief_least(RELIEF_NAMES[i], thickness);
        beside("", thickness, &SMALL_BEFORE[thickness - 1], &now);
        printf("   least of courses %d\n", least);
    }
}

/* Waves of 96 columns and 12 steps, solid and with a core left out behind a shell of one unit, as
 * carved: nothing of it has to be filled again. */
static void hollow_reliefs(int threads)
{
    Sizes sizes;
    layouts_default(&sizes);
    const LayOptions options = {.threads = threads, .effort = 0.25};
    printf("\nhollow, 12 steps   thick    solid  before   hollow  before\n");
    for (int i = 0; i < 2; i++) {
        Grid grid;
        Hollow hollow;
        StepChanges changes;
        const int thickness = 1 + 2 * i;
        if (grid_init(&grid, 96, 64, true, NULL)) exit(1);
        waves(&grid, 0);
        Panels panels = cut(96, 64, 48);
        Solid solid = {.grid = &grid, .build = BUILD_WALL, .base = thickness};
        const Relief relief = {&grid, BUILD_WALL, thickness, &panels, &sizes};
        if (relief_support_steps(&relief, &changes, NULL, NULL)) exit(1);
        const LayTask task = {&solid, &panels, &sizes};
        const size_t whole = lay_one(&task, &options);
        if (hollow_carve(&hollow, &(HollowTask){&solid, &panels, &sizes, 1}, NULL, NULL)) exit(1);
        printf("%24d %8zu %7d %8zu %7d\n", thickness, whole, SOLID_BEFORE[i],
               lay_one(&task, &options), HOLLOW_BEFORE[i]);
        hollow_clear(&hollow, &solid);
        step_changes_clear(&changes);
        free(panels.panel);
        grid_clear(&grid);
    }
}

int main(int count, char **argument)
{
    static const char *const pictures[] = {"astronaut-48-nearest", "astronaut-48-diffused",
                                           "face-48-nearest", "coffee-wide-nearest"};
    static const int size[][2] = {{50, 40}, {500, 400}, {2000, 1600}};
    const int threads = count > 1 ? atoi(argument[1]) : bands_processors();
    heading(threads);
    for (size_t i = 0; i < sizeof pictures / sizeof *pictures; i++)
        for (int thickness = 1; thickness <= 4; thickness++) {
            Layout l = layout_read(pictures[i], 0, 0);
            Grid grid = {.columns = l.field.columns, .rows = l.field.rows, .colour = l.label};
            row(pictures[i], &grid, thickness, 48, threads);
            layout_clear(&l);
        }
    for (int k = 0; k < (count > 2 ? 3 : 2); k++) {
        wave_row("waves", size[k][0], size[k][1], false, 0, 2, 48, threads);
        wave_row("waves with grain", size[k][0], size[k][1], false, 1, 2, 48, threads);
    }
    wave_row("waves with grain", 500, 400, false, 1, 2, 500, threads);
    wave_row("noise", 200, 200, false, 500, 2, 48, threads);
    for (int thickness = 1; thickness <= 3; thickness++) {
        wave_row("relief, 12 steps", 400, 300, true, 0, thickness, 48, threads);
        printf("%48s %d bricks\n", "before:", RELIEF_BEFORE[thickness - 1]);
    }
    flat_fields();
    small_reliefs();
    hollow_reliefs(threads);
    return 0;
}
