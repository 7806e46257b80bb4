/* Walls in relief against the least that their courses need, as an integer program proved it
 * (tests/data/reliefs); they and flat ones against what the layer before came to. */
#include "bricks/lay_wall.h"
#include "hold/bond.h"
#include "hold/hollow.h"
#include "hold/relief_support.h"
#include "support/layouts.h"
#include "support/reliefs.h"
#include "support/walls_before.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

/* A relief as one panel. */
typedef struct Case {
    Grid *grid;
    Sizes sizes;
    Panel panel;
    Panels panels;
    Solid solid;
    Laid laid;
    LayReport report;
    int pieces, unsupported, straight; /* as bond.h tells of the laying */
} Case;

static void case_init(Case *c, Grid *grid, int thickness)
{
    *c = (Case){.grid = grid, .panel = {.columns = grid->columns, .rows = grid->rows}};
    layouts_default(&c->sizes);
    c->panels = (Panels){.across = 1, .up = 1, .count = 1, .panel = &c->panel};
    c->solid = (Solid){.grid = grid, .build = BUILD_WALL, .base = thickness};
}

static void lay_case(Case *c)
{
    LayOptions options = LAY_OPTIONS_DEFAULT;
    Bond bond;
    Fault fault;
    options.effort = 0.25;
    laid_clear(&c->laid);
    assert_int_equal(lay_wall(&(LayTask){&c->solid, &c->panels, &c->sizes}, &options, &c->laid,
                              &c->report, NULL, &fault),
                     STATUS_OK);
    assert_int_equal(bond_init(&bond, &c->solid, &c->panels, &c->laid, 1, &fault), STATUS_OK);
    c->pieces = bond.panel->pieces;
    c->unsupported = bond.panel->unsupported;
    c->straight = 0;
    for (size_t i = 0; i < bond.flaws; i++) c->straight += bond.flaw[i].kind == FLAW_STRAIGHT_JOINT;
    bond_clear(&bond);
}

/* The bound never passes the least of the courses, and is 3 % below it at most. Bricks are 5 %
 * above the least at most, on average, though each panel is one piece, nothing hangs in the air
 * and, two and more thick, no joint is in line over three courses. */
static void bricks_and_bound_are_near_the_least(void **state)
{
    (void)state;
    double over = 0;
    for (int i = 0; i < RELIEFS; i++) {
        Grid grid = relief_read(RELIEF_NAMES[i]);
        for (int thickness = 1; thickness <= RELIEF_THICKEST; thickness++) {
            const double least = relief_least(RELIEF_NAMES[i], thickness);
            Case c;
            case_init(&c, &grid, thickness);
            lay_case(&c);
            assert_true(c.report.lower_bound <= least);
            assert_true(c.report.lower_bound >= 0.97 * least);
            over += (double)c.laid.count / least - 1;
            assert_int_equal(c.pieces, 1);
            assert_int_equal(c.unsupported, 0);
            if (thickness > 1) assert_int_equal(c.straight, 0);
            laid_clear(&c.laid);
        }
        grid_clear(&grid);
    }
    assert_true(over <= 0.05 * RELIEFS * RELIEF_THICKEST);
}

static void assert_no_worse(const Reached *now, const Reached *before)
{
    assert_true(now->bricks <= before->bricks);
    assert_true(now->weak <= before->weak);
    assert_true(now->laps >= before->laps);
}

/* Pictures in flat walls one thick, the hardest to bond, and in relief. */
static void no_worse_than_the_layer_before(void **state)
{
    (void)state;
    const Reached flat = fields_reach(1);
    assert_no_worse(&flat, &FLAT_BEFORE[0]);
    for (int thickness = 1; thickness <= RELIEF_THICKEST; thickness++) {
        const Reached raised = reliefs_reach(thickness);
        assert_no_worse(&raised, &SMALL_BEFORE[thickness - 1]);
    }
}

/* Hills of 12 steps in bands of colour. */
static Grid hills(int columns, int rows)
{
    Grid grid;
    assert_int_equal(grid_init(&grid, columns, rows, true, NULL), STATUS_OK);
    for (int y = 0; y < rows; y++)
        for (int x = 0; x < columns; x++) {
            const double u = x / 30.0, v = y / 30.0;
            const double z = 6 + 2 * (sin(3 * u + 1.3 * v) + sin(1.7 * v - u) + sin(0.7 * u * v));
            grid.colour[y * columns + x] = (uint8_t)(2 * z);
            grid.steps[y * columns + x] = (uint8_t)z;
        }
    return grid;
}

/* On these hills a hollow wall takes no more bricks than a solid one, and is as sound. */
static void hollow_hills_take_no_more_bricks(void **state)
{
    (void)state;
    for (int thickness = 1; thickness <= 3; thickness += 2) {
        Grid grid = hills(48, 36);
        Case c;
        Hollow hollow;
        StepChanges changes;
        Fault fault;
        case_init(&c, &grid, thickness);
        const Relief relief = {&grid, BUILD_WALL, thickness, &c.panels, &c.sizes};
        assert_int_equal(relief_support_steps(&relief, &changes, NULL, &fault), STATUS_OK);
        lay_case(&c);
        const size_t solid = c.laid.count;
        const HollowTask task = {&c.solid, &c.panels, &c.sizes, 1};
        assert_int_equal(hollow_carve(&hollow, &task, NULL, &fault), STATUS_OK);
        assert_true(hollow.units > 1000);
        lay_case(&c);
        assert_true(c.laid.count <= solid);
        assert_int_equal(c.pieces, 1);
        assert_int_equal(c.unsupported, 0);
        hollow_clear(&hollow, &c.solid);
        step_changes_clear(&changes);
        laid_clear(&c.laid);
        grid_clear(&grid);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bricks_and_bound_are_near_the_least),
        cmocka_unit_test(no_worse_than_the_layer_before),
        cmocka_unit_test(hollow_hills_take_no_more_bricks),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
