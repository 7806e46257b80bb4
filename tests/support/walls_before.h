/* What walls come to, and what they came to as laid by the layer before, which cut reliefs into
 * pairs of tiers and took flat walls band by band: as commit 6dfdffd laid them at the same effort,
 * here stored, since it is gone. */
#ifndef ROWLOCK_TESTS_WALLS_BEFORE_H
#define ROWLOCK_TESTS_WALLS_BEFORE_H

#include "bricks/lay_wall.h"
#include "hold/bond.h"
#include "support/layouts.h"
#include "support/reliefs.h"

/* What a laying comes to; in sums, of several. */
typedef struct Reached {
    size_t bricks;
    int weak;
    double laps; /* share of joints that lap a quarter, by bricks, as plan.json has it */
} Reached;

enum { WALL_FIELDS = 9 };

static const double WALL_EFFORT = 0.25;

/* Of tests/data/fields. */
static const char *const WALL_FIELD_NAMES[WALL_FIELDS] = {
    "astronaut-32-nearest", "astronaut-48-nearest", "astronaut-48-diffused",
    "coffee-48-nearest",    "coffee-wide-nearest",  "cup-48-nearest",
    "cup-48-diffused",      "face-48-nearest",      "face-48-diffused"};

/* All those fields, one to four thick; and all reliefs of reliefs.h, one to three. */
static const Reached FLAT_BEFORE[] = {{9576, 463, 0.4019},
                                      {10264, 0, 0.5421},
                                      {11436, 0, 0.5628},
                                      {11451, 0, 0.5420}},
                     SMALL_BEFORE[] = {
                         {2730, 390, 0.4860}, {2951, 123, 0.5654}, {3171, 121, 0.5970}};

/* Adds one laying to a sum. */
static inline void reached_add(Reached *sum, const LayTask *task, const LayOptions *options)
{
    Laid laid = {0};
    LayReport report;
    Bond bond;
    Fault fault;
    if (lay_wall(task, options, &laid, &report, NULL, &fault) ||
        bond_init(&bond, task->solid, task->panels, &laid, 1, &fault)) {
        fprintf(stderr, "%s\n", fault.text);
        exit(1);
    }
    double laps = sum->laps * (double)sum->bricks;
    for (size_t i = 0; i < laid.count; i++) laps += bond.panel[laid.brick[i].panel].quarter_lap;
    for (int p = 0; p < task->panels->count; p++) sum->weak += bond.panel[p].weak;
    sum->bricks += laid.count;
    sum->laps = laps / (double)sum->bricks;
    bond_clear(&bond);
    laid_clear(&laid);
}

/* All fit in one panel. */
static inline void reached_add_grid(Reached *sum, const Grid *grid, int thickness)
{
    Sizes sizes;
    layouts_default(&sizes);
    Panel panel = {.columns = grid->columns, .rows = grid->rows};
    const Panels panels = {.across = 1, .up = 1, .count = 1, .panel = &panel};
    const Solid solid = {.grid = grid, .build = BUILD_WALL, .base = thickness};
    const LayOptions options = {.threads = 1, .effort = WALL_EFFORT};
    reached_add(sum, &(LayTask){&solid, &panels, &sizes}, &options);
}

static inline Reached fields_reach(int thickness)
{
    Reached sum = {0};
    for (int i = 0; i < WALL_FIELDS; i++) {
        Layout l = layout_read(WALL_FIELD_NAMES[i], 0, 0);
        const Grid grid = {.columns = l.field.columns, .rows = l.field.rows, .colour = l.label};
        reached_add_grid(&sum, &grid, thickness);
        layout_clear(&l);
    }
    return sum;
}

static inline Reached reliefs_reach(int thickness)
{
    Reached sum = {0};
    for (int i = 0; i < RELIEFS; i++) {
        Grid grid = relief_read(RELIEF_NAMES[i]);
        reached_add_grid(&sum, &grid, thickness);
        grid_clear(&grid);
    }
    return sum;
}

#endif
