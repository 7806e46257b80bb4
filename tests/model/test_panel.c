/* Cutting a mural into panels, against sums over every cell. */
#include "base/memory.h"
#include "model/panel.h"
#include "support/chance.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

/* Two sizes; the smaller is heavier for its volume: 0.5 g a unit. */
static const Sizes sizes = {
    .count = 2,
    .size = {{.name = "1x1", .width = 1, .length = 1, .mass_g = 0.5},
             {.name = "2x4", .width = 2, .length = 4, .mass_g = 2.4}},
};

static void flat(Grid *grid, Solid *solid, int columns, int rows, bool relief)
{
    assert_int_equal(grid_init(grid, columns, rows, relief, NULL), STATUS_OK);
    *solid = (Solid){.grid = grid, .build = BUILD_PLAQUE, .base = 1};
}

/* Every cell is in one panel, the one that panels_at tells; names say where panels hang. */
static void assert_tiles_mural(const Panels *panels, const Grid *grid)
{
    for (int r = 0; r < grid->rows; r++)
        for (int c = 0; c < grid->columns; c++) {
            int found = -1;
            for (int i = 0; i < panels->count; i++) {
                const Panel *p = &panels->panel[i];
                if (c < p->column || c >= p->column + p->columns || r < p->row ||
                    r >= p->row + p->rows)
                    continue;
                assert_int_equal(found, -1);
                found = i;
            }
            assert_int_equal(found, panels_at(panels, c, r));
        }
}

static void cut_alike(void **state)
{
    (void)state;
    Grid grid;
    Solid solid;
    Panels panels;
    flat(&grid, &solid, 100, 50, false);
    const PanelLimits limits = {.columns = 48, .rows = 48, .mass_kg = 15};
    assert_int_equal(panels_init(&panels, &solid, &sizes, &limits, NULL), STATUS_OK);
    assert_int_equal(panels.across, 3);
    assert_int_equal(panels.up, 2);
    assert_int_equal(panels.count, 6);
    assert_string_equal(panels.panel[0].name, "r1c1");
    assert_string_equal(panels.panel[5].name, "r2c3");
    assert_int_equal(panels.panel[5].column, 66);
    assert_int_equal(panels.panel[5].columns, 34);
    assert_int_equal(panels.panel[5].row, 25);
    assert_int_equal(panels.panel[5].rows, 25);
    assert_tiles_mural(&panels, &grid);
    panels_clear(&panels);
    grid_clear(&grid);
}

/* However a side is parted, no panel is two cells longer than another, and none too long. */
static void no_strip_is_left_over(void **state)
{
    (void)state;
    Grid grid;
    Solid solid;
    Panels panels;
    for (int side = 1; side <= 200; side += 7)
        for (int most = 1; most <= 60; most += 3) {
            const PanelLimits limits = {.columns = most, .rows = 9, .mass_kg = 1e6};
            flat(&grid, &solid, side, 5, false);
            assert_int_equal(panels_init(&panels, &solid, &sizes, &limits, NULL), STATUS_OK);
            assert_int_equal(panels.across, (side + most - 1) / most);
            assert_tiles_mural(&panels, &grid);
            for (int i = 0; i < panels.count; i++) {
                assert_true(panels.panel[i].columns <= most);
                assert_true(panels.panel[i].columns >= side / panels.across);
            }
            panels_clear(&panels);
            grid_clear(&grid);
        }
}

/* On paper: 20 x 20 cells of 10 mm, 0.5 g each, are 0.2 kg of bricks on 0.04 m2 with a frame of
 * 0.8 m. Sheet and board of 10 kg a square metre weigh 0.4 kg, the frame 0.4 kg, the fixings 0.1:
 * 1.1 kg in all. At 1.2 kg they are one panel, at 1.0 kg two of 0.6 kg. Bare they are one in both.
 */
static void what_is_behind_weighs(void **state)
{
    (void)state;
    Grid grid;
    Solid solid;
    Panels panels;
    flat(&grid, &solid, 20, 20, false);
    PanelLimits limits = {.columns = 48,
                          .rows = 48,
                          .mass_kg = 1.2,
                          .mounting = {4, 2, 6, 9, 0.5, 20, 0.1},
                          .cell_width_mm = 10,
                          .cell_height_mm = 10};
    assert_true(fabs(panels_brick_kg(&limits, 20, 20) - 0.3) < 1e-9);
    /* The frame at 10 mm, the board at 24.5, the sheet at 30. */
    assert_true(fabs(mounting_moment(&limits.mounting, 200, 200) -
                     (0.5 * 10 + 0.24 * 24.5 + 0.16 * 30)) < 1e-9);
    for (int i = 0; i < 3; i++) {
        const int expected[] = {1, 2, 1};
        assert_int_equal(panels_init(&panels, &solid, &sizes, &limits, NULL), STATUS_OK);
        assert_int_equal(panels.count, expected[i]);
        panels_clear(&panels);
        limits.mass_kg = 1.0;
        if (i) limits.mounting = (Mounting){0};
    }
    grid_clear(&grid);
}

/* Where nothing is said one person lifts each panel: 13.6 kg, 15 less a tenth, while its short side
 * is below 290 mm; from there on the NIOSH limit, less a tenth. */
static void one_person_lifts_it(void **state)
{
    (void)state;
    Grid grid;
    Solid solid;
    Panels panels;
    flat(&grid, &solid, 80, 80, true);
    for (int i = 0; i < 80 * 80; i++) grid.steps[i] = 9; /* ten units, 5 g */
    const PanelLimits limits = {.columns = 80, .rows = 80, .cell_width_mm = 8, .cell_height_mm = 8};
    assert_int_equal(panels_init(&panels, &solid, &sizes, &limits, NULL), STATUS_OK);
    assert_true(panels.count > 1);
    for (int i = 0; i < panels.count; i++) {
        const Panel *p = &panels.panel[i];
        const double kg = p->columns * p->rows * 0.005, side = fmin(p->columns, p->rows) * 8;
        assert_true(kg <= 15 / 1.1);
        assert_true(kg <= 23 * 0.9 * 25 / (20 + side / 20) / 1.1 + 1e-9);
    }
    panels_clear(&panels);
    grid_clear(&grid);
}

/* No panel may weigh more, and fewer would. */
static void no_panel_over_the_mass(void **state)
{
    (void)state;
    Grid grid;
    Solid solid;
    uint32_t lot = 1;
    for (int n = 0; n < 30; n++) {
        flat(&grid, &solid, 20 + n * 3, 90 - n * 2, true);
        for (int i = 0; i < grid.columns * grid.rows; i++)
            grid.steps[i] = (uint8_t)(chance(&lot) >> 21);
        const PanelLimits limits = {.columns = 48, .rows = 48, .mass_kg = 0.1 + 0.05 * n};
        Panels panels;
        assert_int_equal(panels_init(&panels, &solid, &sizes, &limits, NULL), STATUS_OK);
        assert_tiles_mural(&panels, &grid);
        double heaviest = 0;
        for (int i = 0; i < panels.count; i++) {
            const Panel *p = &panels.panel[i];
            long units = 0;
            for (int r = p->row; r < p->row + p->rows; r++)
                for (int c = p->column; c < p->column + p->columns; c++)
                    units += solid_top(&solid, c, r);
            const double kg = (double)units * 0.5 / 1000;
            if (kg > heaviest) heaviest = kg;
        }
        assert_true(heaviest <= limits.mass_kg);
        const int least = ((grid.columns + 47) / 48) * ((grid.rows + 47) / 48);
        assert_true(panels.count == least || heaviest > 0.6 * limits.mass_kg);
        panels_clear(&panels);
        grid_clear(&grid);
    }
}

static void one_cell_too_heavy(void **state)
{
    (void)state;
    Grid grid;
    Solid solid;
    Panels panels;
    Fault fault;
    flat(&grid, &solid, 3, 3, true);
    grid.steps[4] = 255;
    const PanelLimits limits = {.columns = 48, .rows = 48, .mass_kg = 0.1};
    assert_int_equal(panels_init(&panels, &solid, &sizes, &limits, &fault), STATUS_DATA);
    assert_non_null(strstr(fault.text, "256 units"));
    grid_clear(&grid);
}

static void allocations_fail_in_turn(void **state)
{
    (void)state;
    Grid grid;
    Solid solid;
    Panels panels;
    Fault fault;
    flat(&grid, &solid, 60, 60, false);
    const PanelLimits limits = {.columns = 48, .rows = 48, .mass_kg = 15};
    for (long n = 0; n < 2; n++) {
        memory_fail_after(n);
        assert_int_equal(panels_init(&panels, &solid, &sizes, &limits, &fault), STATUS_NO_RESOURCE);
        memory_fail_after(-1);
        panels_clear(&panels);
    }
    grid_clear(&grid);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(cut_alike),
        cmocka_unit_test(no_strip_is_left_over),
        cmocka_unit_test(what_is_behind_weighs),
        cmocka_unit_test(one_person_lifts_it),
        cmocka_unit_test(no_panel_over_the_mass),
        cmocka_unit_test(one_cell_too_heavy),
        cmocka_unit_test(allocations_fail_in_turn),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
