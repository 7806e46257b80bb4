/* Ties across lines where colours part a wall: by hand how many cells are raised and where,
 * and that the wall is one piece then, by its own bond. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/memory.h"
#include "bricks/lay.h"
#include "hold/bond.h"
#include "hold/connect_panels.h"
#include "hold/relief_support.h"

#include <string.h>

enum { COLUMNS = 12, ROWS = 8 };

typedef struct Case {
    Grid grid;
    Solid solid;
    Sizes sizes;
    Panels panels;
    Panel panel;
    Laid laid;
    int pieces, unsupported;
} Case;

/* Stripes of colour four columns wide, from the lowest course to the highest. */
static void case_init(Case *c, int rows, bool relief)
{
    *c = (Case){0};
    assert_int_equal(grid_init(&c->grid, COLUMNS, rows, relief, NULL), 0);
    for (int i = 0; i < COLUMNS * rows; i++) c->grid.colour[i] = (uint8_t)(i % COLUMNS / 4);
    c->solid = (Solid){.grid = &c->grid, .build = BUILD_WALL, .base = 1};
    sizes_default(&c->sizes, 8, 9.6);
    c->panel = (Panel){.name = "r1c1", .columns = COLUMNS, .rows = rows};
    c->panels = (Panels){1, 1, 1, &c->panel, NULL};
}

static void lay_case(Case *c)
{
    LayReport report;
    const LayOptions options = LAY_OPTIONS_DEFAULT;
    Bond bond;
    laid_clear(&c->laid);
    assert_int_equal(
        lay(&(LayTask){&c->solid, &c->panels, &c->sizes}, &options, &c->laid, &report, NULL, NULL),
        0);
    assert_int_equal(bond_init(&bond, &c->solid, &c->panels, &c->laid, 1, NULL), 0);
    c->pieces = bond.panel[0].pieces;
    c->unsupported = bond.panel[0].unsupported;
    bond_clear(&bond);
}

static size_t tie(Case *c)
{
    size_t raised;
    assert_int_equal(connect_panels(&c->grid, &c->solid, &c->panels, &c->laid, &raised, NULL), 0);
    return raised;
}

static long steps_of(const Case *c)
{
    long sum = 0;
    for (int i = 0; i < COLUMNS * c->grid.rows; i++) sum += c->grid.steps[i];
    return sum;
}

static void case_clear(Case *c)
{
    laid_clear(&c->laid);
    grid_clear(&c->grid);
}

/* Two lines part three stripes: two cells a line, one above the other, beside it. Nothing is
 * taken down again, for a header carries them. */
static void each_line_takes_two_cells(void **state)
{
    (void)state;
    Case c;
    StepChanges step_changes;
    case_init(&c, ROWS, true);
    lay_case(&c);
    assert_int_equal(c.pieces, 3);
    assert_int_equal(tie(&c), 4);
    assert_int_equal(steps_of(&c), 4);
    for (int line = 4; line <= 8; line += 4) {
        int raised = 0;
        for (int y = 0; y < ROWS; y++)
            raised += c.grid.steps[y * COLUMNS + line - 1] + c.grid.steps[y * COLUMNS + line];
        assert_int_equal(raised, 2);
    }
    assert_int_equal(relief_support_steps(&(Relief){&c.grid, BUILD_WALL, 1, &c.panels, &c.sizes},
                                          &step_changes, NULL, NULL),
                     0);
    assert_int_equal(step_changes.count, 0);
    step_changes_clear(&step_changes);
    lay_case(&c);
    assert_int_equal(c.pieces, 1);
    assert_int_equal(c.unsupported, 0);
    assert_int_equal(tie(&c), 0);
    case_clear(&c);
}

/* Where a cell stands out alone, that is used: only the one above or below it has to. */
static void what_stands_out_is_used(void **state)
{
    (void)state;
    Case c;
    case_init(&c, ROWS, true);
    c.grid.steps[3 * COLUMNS + 3] = 1;
    lay_case(&c);
    assert_int_equal(c.pieces, 3);
    assert_int_equal(tie(&c), 1 + 2);
    assert_int_equal(c.grid.steps[3 * COLUMNS + 3] + c.grid.steps[2 * COLUMNS + 3] +
                         c.grid.steps[4 * COLUMNS + 3],
                     2);
    lay_case(&c);
    assert_int_equal(c.pieces, 1);
    case_clear(&c);
}

/* A flat wall has no steps to raise; in a wall of two courses both are its edge, where
 * everything is seen. */
static void what_cannot_be_tied_stays(void **state)
{
    (void)state;
    for (int relief = 0; relief < 2; relief++) {
        Case c;
        case_init(&c, relief ? 2 : ROWS, relief);
        lay_case(&c);
        assert_int_equal(c.pieces, 3);
        assert_int_equal(tie(&c), 0);
        case_clear(&c);
    }
}

static void each_allocation_may_fail(void **state)
{
    (void)state;
    Case c;
    case_init(&c, ROWS, true);
    lay_case(&c);
    for (long n = 0;; n++) {
        size_t raised;
        Fault fault = {0};
        memset(c.grid.steps, 0, COLUMNS * ROWS);
        memory_fail_after(n);
        const Status status =
            connect_panels(&c.grid, &c.solid, &c.panels, &c.laid, &raised, &fault);
        const long left = memory_countdown();
        memory_fail_after(-1);
        if (left >= 0) break;
        assert_int_not_equal(status, STATUS_OK);
        assert_true(*fault.text);
    }
    assert_int_equal(steps_of(&c), 4);
    case_clear(&c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_line_takes_two_cells),
        cmocka_unit_test(what_stands_out_is_used),
        cmocka_unit_test(what_cannot_be_tied_stays),
        cmocka_unit_test(each_allocation_may_fail),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
