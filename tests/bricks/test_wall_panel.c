/* Masonry: the prices of courses and their bonds. Each pair of courses is priced alike from
 * both sides, so no sweep may make a panel dearer, nor may dressing; and where no course can be
 * laid better, the least of all layings of one course (by brute force) is no cheaper. */
#include "bricks/wall/wall_local_search.h"
#include "bricks/wall/wall_panel.h"
#include "support/chance.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

typedef struct Case {
    Grid grid;
    Solid solid;
    Sizes sizes;
    Panel panel;
    Panels panels;
    LayOptions options;
    Wall wall;
    WallPanel wall_panel;
} Case;

static void case_init(Case *c, int columns, int rows, int thickness, int colours, uint32_t *seed)
{
    static const int plan[11][2] = {{1, 1}, {1, 2}, {1, 3}, {1, 4}, {1, 6}, {1, 8},
                                    {2, 2}, {2, 3}, {2, 4}, {2, 6}, {2, 8}};
    Fault fault;
    memset(c, 0, sizeof *c);
    assert_int_equal(grid_init(&c->grid, columns, rows, false, &fault), STATUS_OK);
    for (int i = 0; i < columns * rows; i++) { /* a third of the cells differ from those below */
        const uint8_t drawn = (uint8_t)(chance(seed) % (uint32_t)colours);
        const bool keep = i >= columns && chance(seed) % 3 > 0;
        c->grid.colour[i] = keep ? c->grid.colour[i - columns] : drawn;
    }
    c->sizes.count = 11;
    for (int i = 0; i < 11; i++) {
        c->sizes.size[i].width = plan[i][0];
        c->sizes.size[i].length = plan[i][1];
    }
    c->solid = (Solid){.grid = &c->grid, .build = BUILD_WALL, .base = thickness};
    c->panel = (Panel){"r1c1", 0, 0, columns, rows};
    c->panels = (Panels){1, 1, 1, &c->panel, NULL};
    c->options = LAY_OPTIONS_DEFAULT;
    c->wall = (Wall){
        .solid = &c->solid, .sizes = &c->sizes, .panels = &c->panels, .options = &c->options};
    cuts_init(&c->wall.cuts, &c->sizes, NULL);
    assert_int_equal(wall_panel_init(&c->wall_panel, &c->wall, 0, &fault), STATUS_OK);
    assert_int_equal(wall_panel_sweep_first(&c->wall_panel, &fault), STATUS_OK);
}

static void case_clear(Case *c)
{
    wall_panel_finish(&c->wall_panel);
    wall_panel_clear(&c->wall_panel);
    grid_clear(&c->grid);
}

static int64_t total(Case *c)
{
    int64_t sum = 0;
    for (int row = 0; row < c->panel.rows; row++) sum += wall_panel_price(&c->wall_panel, row);
    return sum;
}

static void no_sweep_makes_a_panel_dearer(void **state)
{
    (void)state;
    uint32_t seed = 1;
    for (int round = 0; round < 60; round++) {
        Case c;
        Fault fault;
        case_init(&c, 2 + (int)(chance(&seed) % 40), 1 + (int)(chance(&seed) % 20), 1 + round % 4,
                  1 + (int)(chance(&seed) % 6), &seed);
        int64_t before = total(&c);
        for (int sweep = 0; sweep < 4; sweep++) {
            assert_int_equal(wall_panel_sweep(&c.wall_panel, sweep % 2 == 0, &fault), STATUS_OK);
            const int64_t after = total(&c);
            assert_true(after <= before);
            before = after;
        }
        assert_int_equal(wall_local_search(&c.wall_panel, 1, &fault), STATUS_OK);
        assert_true(total(&c) <= before);
        case_clear(&c);
    }
}

/* Every laying of one course one thick, by brute force over its joints. */
static void a_settled_course_is_the_least(void **state)
{
    (void)state;
    uint32_t seed = 2;
    for (int round = 0; round < 40; round++) {
        Case c;
        Fault fault;
        const int columns = 2 + (int)(chance(&seed) % 9), rows = 2 + (int)(chance(&seed) % 4);
        case_init(&c, columns, rows, 1, 1 + (int)(chance(&seed) % 3), &seed);
        for (int sweep = 0; sweep < 20; sweep++)
            assert_int_equal(wall_panel_sweep(&c.wall_panel, sweep % 2 == 0, &fault), STATUS_OK);
        const int64_t settled = total(&c);
        const int row = (int)(chance(&seed) % (uint32_t)rows);
        const uint8_t *colour = c.grid.colour + row * columns;
        for (uint32_t joints = 0; joints < 1u << (columns - 1); joints++) {
            CourseBrick piece[16];
            Course course = {.brick = piece};
            bool good = true;
            for (int x = 0, begin = 0; x < columns && good; x++) {
                if (x + 1 < columns && !(joints >> x & 1)) {
                    good = colour[x] == colour[x + 1];
                    continue;
                }
                const int n = x + 1 - begin, size = n <= 4 ? n - 1 : n == 6 ? 4 : 5;
                good = n <= 4 || n == 6 || n == 8;
                piece[course.count++] =
                    (CourseBrick){(int16_t)begin, 0, (uint8_t)n, 1, (uint16_t)size};
                begin = x + 1;
            }
            if (!good) continue;
            assert_int_equal(wall_panel_put(&c.wall_panel, row, &course, &fault), STATUS_OK);
            assert_true(total(&c) >= settled);
        }
        case_clear(&c);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_sweep_makes_a_panel_dearer),
        cmocka_unit_test(a_settled_course_is_the_least),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
