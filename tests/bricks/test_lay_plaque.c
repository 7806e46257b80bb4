/* Plaques, flat and raised: that the bricks are the solid, against every unit of it. */
#include "base/memory.h"
#include "bricks/lay_plaque.h"
#include "support/layouts.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

static const PanelLimits limits = {.columns = 17, .rows = 13, .mass_kg = 15};

/* Each unit of the solid is in one brick; each brick lies in its panel, in one tier, on
 * something, and has the colour of what is shown of it. */
static void assert_is_solid(const Solid *solid, const Panels *panels, const Laid *laid, int fill)
{
    const int columns = solid->grid->columns, rows = solid->grid->rows;
    const int depth = solid_depth(solid);
    uint8_t *seen = calloc((size_t)columns * (size_t)rows * (size_t)depth, 1);
    for (size_t i = 0; i < laid->count; i++) {
        const Brick *b = &laid->brick[i];
        const Panel *p = &panels->panel[b->panel];
        assert_int_equal(b->tiers, 1);
        assert_true(b->column >= p->column && b->column + b->columns <= p->column + p->columns);
        assert_true(b->row >= p->row && b->row + b->rows <= p->row + p->rows);
        bool shown = false, coloured = false;
        for (int r = b->row; r < b->row + b->rows; r++)
            for (int c = b->column; c < b->column + b->columns; c++) {
                uint8_t *at = &seen[((size_t)b->tier * (size_t)rows + (size_t)r) * (size_t)columns +
                                    (size_t)c];
                assert_int_equal(*at, 0);
                *at = 1;
                assert_true(b->tier < solid_top(solid, c, r));
                if (!solid_shown(solid, c, r, b->tier)) continue;
                shown = coloured = true;
                assert_int_equal(b->colour, grid_colour(solid->grid, c, r));
            }
        assert_int_equal(b->shown, shown);
        if (!coloured) assert_int_equal(b->colour, fill);
    }
    size_t units = 0, filled = 0;
    for (int r = 0; r < rows; r++)
        for (int c = 0; c < columns; c++) units += (size_t)solid_top(solid, c, r);
    for (size_t i = 0; i < (size_t)columns * (size_t)rows * (size_t)depth; i++) filled += seen[i];
    assert_int_equal(units, filled);
    free(seen);
}

static Grid random_grid(uint32_t *lot, int columns, int rows, int tallest)
{
    Grid grid;
    assert_int_equal(grid_init(&grid, columns, rows, tallest > 0, NULL), STATUS_OK);
    const double phase = chance(lot) % 100;
    for (int r = 0; r < rows; r++)
        for (int c = 0; c < columns; c++) {
            const int at = r * columns + c;
            grid.colour[at] = (uint8_t)(2 + sin(c / 5.0 + phase) + sin(r / 4.0) * 0.9);
            if (chance(lot) % 10 == 0) grid.colour[at] = (uint8_t)(chance(lot) % 5);
            if (tallest)
                grid.steps[at] =
                    (uint8_t)((sin(c / 7.0) + sin(r / 6.0 + phase) + 2) / 4 * tallest + 0.5);
        }
    return grid;
}

static void plaques_are_their_solid(void **state)
{
    (void)state;
    Sizes sizes;
    layouts_default(&sizes);
    uint32_t lot = 1;
    for (int n = 0; n < 40 / LAYOUTS_SHARE; n++) {
        Grid grid = random_grid(&lot, 20 + n, 50 - n, n % 4 * 3);
        const Solid solid = {.grid = &grid, .build = BUILD_PLAQUE, .base = 1 + n % 2};
        const LayOptions options = {.threads = 1 + n % 3, .effort = n % 2 * 0.5, .fill = 4};
        Panels panels;
        Laid laid = {0};
        LayReport report;
        assert_int_equal(panels_init(&panels, &solid, &sizes, &limits, NULL), STATUS_OK);
        assert_int_equal(
            lay_plaque(&(LayTask){&solid, &panels, &sizes}, &options, &laid, &report, NULL, NULL),
            STATUS_OK);
        assert_is_solid(&solid, &panels, &laid, 4);
        assert_int_equal(report.bricks, laid.count);
        assert_true(report.lower_bound > 0 && report.lower_bound <= (double)laid.count);
        for (size_t i = 1; i < laid.count; i++) {
            const Brick *a = &laid.brick[i - 1], *b = &laid.brick[i];
            assert_true(a->panel < b->panel ||
                        (a->panel == b->panel &&
                         (a->tier < b->tier ||
                          (a->tier == b->tier &&
                           (a->row < b->row || (a->row == b->row && a->column < b->column))))));
        }
        laid_clear(&laid);
        panels_clear(&panels);
        grid_clear(&grid);
    }
}

/* A pyramid with one colour a side: backing is free, so its lower tiers take few bricks. */
static void backing_takes_large_bricks(void **state)
{
    (void)state;
    Sizes sizes;
    layouts_default(&sizes);
    Grid grid;
    assert_int_equal(grid_init(&grid, 34, 34, true, NULL), STATUS_OK);
    for (int r = 0; r < 34; r++)
        for (int c = 0; c < 34; c++) {
            grid.colour[r * 34 + c] = (uint8_t)((c + r) % 5); /* no two neighbours alike */
            grid.steps[r * 34 + c] = 1;
        }
    const Solid solid = {.grid = &grid, .build = BUILD_PLAQUE, .base = 1};
    const PanelLimits one = {.columns = 48, .rows = 48, .mass_kg = 15};
    Panels panels;
    Laid laid = {0};
    LayReport report;
    assert_int_equal(panels_init(&panels, &solid, &sizes, &one, NULL), STATUS_OK);
    assert_int_equal(lay_plaque(&(LayTask){&solid, &panels, &sizes}, &LAY_OPTIONS_DEFAULT, &laid,
                                &report, NULL, NULL),
                     STATUS_OK);
    size_t upper = 0, inner = 0;
    for (size_t i = 0; i < laid.count; i++) {
        upper += laid.brick[i].tier == 1;
        inner += !laid.brick[i].shown;
    }
    assert_int_equal(upper, 34 * 34);
    /* 32x32 units behind the face; the rim of 132 is shown and cannot but be single, save
     * that a brick of the rim may reach inward. */
    assert_true(laid.count - upper <= 132 + 64);
    assert_true(inner <= 64);
    laid_clear(&laid);
    panels_clear(&panels);
    grid_clear(&grid);
}

static void place_and_tier_are_named(void **state)
{
    (void)state;
    static const int side[][2] = {{2, 2}};
    Sizes sizes;
    layouts_set(&sizes, side, 1);
    Grid grid;
    assert_int_equal(grid_init(&grid, 4, 4, true, NULL), STATUS_OK);
    grid.steps[2 * 4 + 1] = 1;
    const Solid solid = {.grid = &grid, .build = BUILD_PLAQUE, .base = 1};
    Panels panels;
    Laid laid = {0};
    LayReport report;
    Fault fault;
    assert_int_equal(panels_init(&panels, &solid, &sizes, &limits, NULL), STATUS_OK);
    assert_int_equal(lay_plaque(&(LayTask){&solid, &panels, &sizes}, &LAY_OPTIONS_DEFAULT, &laid,
                                &report, NULL, &fault),
                     STATUS_DATA);
    assert_non_null(strstr(fault.text, "tier 2, column 2, row 3: "));
    laid_clear(&laid);
    panels_clear(&panels);
    grid_clear(&grid);
}

static void allocations_fail_in_turn(void **state)
{
    (void)state;
    Sizes sizes;
    layouts_default(&sizes);
    uint32_t lot = 3;
    Grid grid = random_grid(&lot, 9, 7, 2);
    const Solid solid = {.grid = &grid, .build = BUILD_PLAQUE, .base = 1};
    Panels panels;
    assert_int_equal(panels_init(&panels, &solid, &sizes, &limits, NULL), STATUS_OK);
    for (long n = 0;; n++) {
        Laid laid = {0};
        LayReport report;
        Fault fault;
        const LayOptions options = {.threads = 1, .effort = 0};
        memory_fail_after(n);
        const Status status =
            lay_plaque(&(LayTask){&solid, &panels, &sizes}, &options, &laid, &report, NULL, &fault);
        const bool failed = memory_countdown() < 0;
        memory_fail_after(-1);
        assert_int_equal(status, failed ? STATUS_NO_RESOURCE : STATUS_OK);
        laid_clear(&laid);
        if (!failed) break;
    }
    panels_clear(&panels);
    grid_clear(&grid);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(plaques_are_their_solid),
        cmocka_unit_test(backing_takes_large_bricks),
        cmocka_unit_test(place_and_tier_are_named),
        cmocka_unit_test(allocations_fail_in_turn),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
