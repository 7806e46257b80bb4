/* Walls in relief against the least that their courses need, as an integer program proved it
 * (tests/data/reliefs). */
#include "bricks/lay_wall.h"
#include "support/layouts.h"
#include "support/reliefs.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

/* One panel, laid; the grid's. */
static LayReport lay_relief(Grid *grid, int thickness, Laid *laid)
{
    Sizes sizes;
    layouts_default(&sizes);
    Panel panel = {.columns = grid->columns, .rows = grid->rows};
    const Panels panels = {.across = 1, .up = 1, .count = 1, .panel = &panel};
    const Solid solid = {.grid = grid, .build = BUILD_WALL, .base = thickness};
    LayOptions options = LAY_OPTIONS_DEFAULT;
    options.effort = 0.25;
    LayReport report;
    Fault fault;
    assert_int_equal(
        lay_wall(&(LayTask){&solid, &panels, &sizes}, &options, laid, &report, NULL, &fault),
        STATUS_OK);
    return report;
}

/* The bound never passes the least of the courses, and is 3 % below it at most. */
static void bound_is_near_the_least(void **state)
{
    (void)state;
    for (int i = 0; i < RELIEFS; i++) {
        Grid grid = relief_read(RELIEF_NAMES[i]);
        for (int thickness = 1; thickness <= RELIEF_THICKEST; thickness++) {
            Laid laid = {0};
            const LayReport report = lay_relief(&grid, thickness, &laid);
            const double least = relief_least(RELIEF_NAMES[i], thickness);
            assert_true(report.lower_bound <= least);
            assert_true(report.lower_bound >= 0.97 * least);
            laid_clear(&laid);
        }
        grid_clear(&grid);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bound_is_near_the_least),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
