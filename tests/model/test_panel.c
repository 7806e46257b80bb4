/* Cutting a mural into panels, against sums over every cell. */
#include "base/memory.h"
#include "model/panel.h"
#include "support/chance.h"

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

static void cut_from_lower_left(void **state)
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
    assert_int_equal(panels.panel[5].column, 96);
    assert_int_equal(panels.panel[5].columns, 4);
    assert_int_equal(panels.panel[5].row, 48);
    assert_int_equal(panels.panel[5].rows, 2);
    assert_tiles_mural(&panels, &grid);
    panels_clear(&panels);
    grid_clear(&grid);
}

/* No panel may weigh more, and one more row or column of the cut would. */
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
        assert_true(panels.panel[0].columns == 48 || panels.panel[0].columns == grid.columns ||
                    2 * panels.panel[0].rows <= panels.panel[0].columns + 1 ||
                    heaviest > 0.8 * limits.mass_kg);
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
        cmocka_unit_test(cut_from_lower_left),
        cmocka_unit_test(no_panel_over_the_mass),
        cmocka_unit_test(one_cell_too_heavy),
        cmocka_unit_test(allocations_fail_in_turn),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
