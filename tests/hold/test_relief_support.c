/* Carry: shapes whose overhang is known by hand, and random reliefs that are then laid and
 * checked brick by brick with code of this file's own. */
#include "base/memory.h"
#include "bricks/lay_wall.h"
#include "hold/relief_support.h"
#include "support/chance.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static Sizes default_set(void)
{
    static const int plan[11][2] = {{1, 1}, {1, 2}, {1, 3}, {1, 4}, {1, 6}, {1, 8},
                                    {2, 2}, {2, 3}, {2, 4}, {2, 6}, {2, 8}};
    Sizes sizes = {.count = 11};
    for (int i = 0; i < 11; i++) {
        sizes.size[i].width = plan[i][0];
        sizes.size[i].length = plan[i][1];
    }
    return sizes;
}

typedef struct Case {
    Grid grid;
    Sizes sizes;
    Panel panel[16];
    Panels panels;
    StepChanges step_changes;
} Case;

static void case_init(Case *c, int columns, int rows, int across, int up)
{
    Fault fault;
    *c = (Case){.sizes = default_set()};
    assert_int_equal(grid_init(&c->grid, columns, rows, true, &fault), STATUS_OK);
    c->panels = (Panels){across, up, across * up, c->panel, NULL};
    for (int i = 0; i < across * up; i++) {
        Panel *p = &c->panel[i];
        const int x = i % across, y = i / across;
        p->column = columns * x / across;
        p->row = rows * y / up;
        p->columns = columns * (x + 1) / across - p->column;
        p->rows = rows * (y + 1) / up - p->row;
    }
}

static void case_clear(Case *c)
{
    grid_clear(&c->grid);
    step_changes_clear(&c->step_changes);
}

static uint8_t *steps(Case *c, int x, int y) { return &c->grid.steps[y * c->grid.columns + x]; }

static void carry(Case *c, int base)
{
    Fault fault = {0};
    step_changes_clear(&c->step_changes);
    assert_int_equal(
        relief_support_steps(&(Relief){&c->grid, BUILD_WALL, base, &c->panels, &c->sizes},
                             &c->step_changes, NULL, &fault),
        STATUS_OK);
}

/* By hand: a shelf along the whole wall that juts out by 3. Half of a brick may hang, and the
 * course below is as deep as the wall: 1 thick, one tier may hang in the first course, and the
 * next, now on two tiers, may hang by two; 2 thick, two may; 4 thick, all three may. */
static void a_shelf_by_hand(void **state)
{
    (void)state;
    static const int first[5] = {0, 1, 2, 3, 3};
    for (int base = 1; base <= 4; base++) {
        Case c;
        case_init(&c, 8, 6, 1, 1);
        for (int y = 3; y < 6; y++)
            for (int x = 0; x < 8; x++) *steps(&c, x, y) = 3;
        carry(&c, base);
        for (int x = 0; x < 8; x++) {
            assert_int_equal(*steps(&c, x, 2), 0);
            assert_int_equal(*steps(&c, x, 3), first[base]);
            assert_int_equal(*steps(&c, x, 4), 3);
            assert_int_equal(*steps(&c, x, 5), 3);
        }
        assert_int_equal(c.step_changes.count, first[base] == 3 ? 0 : 8);
        assert_int_equal(c.step_changes.steps, 8 * (3 - first[base]));
        for (size_t i = 0; i < c.step_changes.count; i++) {
            assert_int_equal(c.step_changes.change[i].column, i);
            assert_int_equal(c.step_changes.change[i].row, 3);
            assert_int_equal(c.step_changes.change[i].from, 3);
            assert_int_equal(c.step_changes.change[i].to, first[base]);
        }
        case_clear(&c);
    }
}

/* By hand: a buttress that widens by two columns is carried sideways, by bricks along the
 * course. In another colour the outermost tier cannot be, for no brick shows two colours: one
 * step goes. */
static void a_widening_buttress_by_hand(void **state)
{
    (void)state;
    for (int coloured = 0; coloured < 2; coloured++) {
        Case c;
        case_init(&c, 12, 8, 1, 1);
        for (int y = 0; y < 8; y++)
            for (int x = y < 3 ? 4 : 2; x < 8; x++) {
                *steps(&c, x, y) = 6;
                c.grid.colour[y * 12 + x] = (uint8_t)(coloured && x < 4);
            }
        carry(&c, 1);
        assert_int_equal(c.step_changes.count, coloured ? 2 : 0);
        for (int x = 2; x < 4; x++) {
            assert_int_equal(*steps(&c, x, 3), coloured ? 5 : 6);
            assert_int_equal(*steps(&c, x, 4), 6);
        }
        case_clear(&c);
    }
}

/* A panel's lowest course stands on the ground, but must be held from above: by hand, a step
 * in that course alone stays (a brick two deep reaches under the wall above), six do not all. */
static void the_lowest_course_is_held_from_above(void **state)
{
    (void)state;
    Case c;
    case_init(&c, 8, 4, 1, 1);
    for (int x = 0; x < 8; x++) *steps(&c, x, 0) = 1;
    carry(&c, 1);
    assert_int_equal(c.step_changes.count, 0);
    for (int x = 0; x < 8; x++) *steps(&c, x, 0) = 9;
    carry(&c, 1);
    assert_int_equal(c.step_changes.count, 8);
    for (int x = 0; x < 8; x++) assert_int_equal(*steps(&c, x, 0), 7); /* bricks are 8 long */
    case_clear(&c);
}

/* Nothing changes in a plaque, in a flat wall, nor where everything is carried already. */
static void what_is_carried_stays(void **state)
{
    (void)state;
    Case c;
    Fault fault = {0};
    case_init(&c, 20, 20, 2, 2);
    for (int y = 0; y < 20; y++) /* wider and deeper toward the ground */
        for (int x = 0; x < 20; x++) *steps(&c, x, y) = (uint8_t)((19 - y) / 3);
    for (int i = 0; i < 400; i++) c.grid.colour[i] = (uint8_t)(i % 7);
    c.panels = (Panels){1, 1, 1, c.panel, NULL};
    c.panel[0].columns = c.panel[0].rows = 20;
    carry(&c, 1);
    assert_int_equal(c.step_changes.count, 0);
    for (int x = 0; x < 20; x++) *steps(&c, x, 19) = 9;
    assert_int_equal(relief_support_steps(&(Relief){&c.grid, BUILD_PLAQUE, 1, &c.panels, &c.sizes},
                                          &c.step_changes, NULL, &fault),
                     STATUS_OK);
    assert_int_equal(c.step_changes.count, 0);
    uint8_t *kept = c.grid.steps;
    c.grid.steps = NULL;
    carry(&c, 1);
    assert_int_equal(c.step_changes.count, 0);
    c.grid.steps = kept;
    case_clear(&c);
}

/* A random field of 0 to most, averaged over squares of 2 reach + 1 cells. */
static void scatter(uint8_t *field, int columns, int rows, int most, int reach, uint32_t *seed)
{
    int *raw = calloc((size_t)columns * (size_t)rows, sizeof *raw);
    assert_non_null(raw);
    for (int i = 0; i < columns * rows; i++) raw[i] = (int)(chance(seed) % 1000);
    for (int y = 0; y < rows; y++)
        for (int x = 0; x < columns; x++) {
            long sum = 0, n = 0;
            for (int v = y - reach; v <= y + reach; v++)
                for (int u = x - reach; u <= x + reach; u++)
                    if (u >= 0 && v >= 0 && u < columns && v < rows) {
                        sum += raw[v * columns + u];
                        n++;
                    }
            long z = 500 + (sum / n - 500) * (1 + reach);
            z = z < 0 ? 0 : z > 999 ? 999 : z;
            field[y * columns + x] = (uint8_t)(z * (most + 1) / 1000);
        }
    free(raw);
}

typedef struct Found {
    int loose, floating, tipping;
} Found;

static int root(int *mark, int i)
{
    while (mark[i] != i) i = mark[i] = mark[mark[i]];
    return i;
}

/* Lays the relief, fills its units brick by brick, and looks at what each brick rests on. */
static Found lay_and_check(const Case *c, int base)
{
    const int w = c->grid.columns, h = c->grid.rows, deep = base + 16;
    const Solid solid = {.grid = &c->grid, .build = BUILD_WALL, .base = base};
    const LayOptions options = LAY_OPTIONS_DEFAULT;
    Laid laid = {0};
    LayReport report;
    Fault fault = {0};
    assert_int_equal(
        lay_wall(&(LayTask){&solid, &c->panels, &c->sizes}, &options, &laid, &report, NULL, &fault),
        STATUS_OK);
    assert_true((double)laid.count >= report.lower_bound);
    int *unit = calloc((size_t)w * (size_t)h * (size_t)deep, sizeof *unit);
    int *mark = calloc(laid.count + 1, sizeof *mark);
    assert_non_null(unit);
    assert_non_null(mark);
    long filled = 0, whole = 0;
    for (int i = 0; i < w * h; i++) whole += base + c->grid.steps[i];
    for (size_t i = 0; i < laid.count; i++) {
        const Brick *k = &laid.brick[i];
        mark[i + 1] = (int)i + 1;
        for (int x = k->column; x < k->column + k->columns; x++)
            for (int t = k->tier; t < k->tier + k->tiers; t++) {
                int *u = &unit[(k->row * deep + t) * w + x];
                assert_true(t < base + c->grid.steps[k->row * w + x]);
                assert_int_equal(*u, 0);
                *u = (int)i + 1;
                filled++;
                if (t == base + c->grid.steps[k->row * w + x] - 1)
                    assert_int_equal(k->colour, c->grid.colour[k->row * w + x]);
            }
    }
    assert_int_equal(filled, whole);
    Found found = {.loose = (int)laid.count - c->panels.count};
    for (size_t i = 0; i < laid.count; i++) {
        const Brick *k = &laid.brick[i];
        if (k->row == c->panels.panel[k->panel].row) continue;
        int over = 0;
        for (int x = k->column; x < k->column + k->columns; x++)
            for (int t = k->tier; t < k->tier + k->tiers; t++) {
                const int below = unit[((k->row - 1) * deep + t) * w + x];
                if (!below) {
                    over++;
                    continue;
                }
                const int p = root(mark, below), q = root(mark, (int)i + 1);
                mark[p] = q;
                found.loose -= p != q;
            }
        found.floating += over == k->columns * k->tiers;
        found.tipping += 2 * over > k->columns * k->tiers;
    }
    free(unit);
    free(mark);
    laid_clear(&laid);
    return found;
}

/* A brow of seven steps over a flat wall, by formula. The first course may hang by as much as
 * the wall is thick, the next by as much again as it now reaches back over, but no brick is
 * longer than eight: one thick, the brow's courses stand out by 1, 1 + 2 and 1 + 2 + 4; two
 * thick by 2, 2 + 4 and all; three thick by 3, 3 + 4. These cells are reported, no others. */
static void a_brow_by_formula(void **state)
{
    (void)state;
    static const int known[4][4] = {{0}, {1, 3, 7, 7}, {2, 6, 7, 7}, {3, 7, 7, 7}};
    for (int base = 1; base <= 3; base++) {
        Case c;
        case_init(&c, 40, 20, 1, 1);
        for (int y = 6; y < 10; y++)
            for (int x = 5; x < 35; x++) *steps(&c, x, y) = 7;
        carry(&c, base);
        size_t changes = 0;
        for (int y = 0; y < 20; y++)
            for (int x = 0; x < 40; x++) {
                const bool brow = y >= 6 && y < 10 && x >= 5 && x < 35;
                const int to = brow ? known[base][y - 6] : 0;
                assert_int_equal(*steps(&c, x, y), to);
                if (!brow || to == 7) continue;
                const StepChange *change = &c.step_changes.change[changes++];
                assert_int_equal(change->column, x);
                assert_int_equal(change->row, y);
                assert_int_equal(change->from, 7);
                assert_int_equal(change->to, to);
            }
        assert_int_equal(c.step_changes.count, changes);
        assert_int_equal(c.step_changes.lowered, changes);
        case_clear(&c);
    }
}

/* A sphere's cap, a step pyramid and a brow that overhangs, by formula: they are carried, laid
 * whole, and where nothing overhangs they keep every step. */
static void shapes_by_formula(void **state)
{
    (void)state;
    for (int shape = 0; shape < 3; shape++)
        for (int base = 1; base <= 3; base++) {
            Case c;
            case_init(&c, 40, 40, 1, 1);
            for (int y = 0; y < 40; y++)
                for (int x = 0; x < 40; x++) {
                    const int dx = abs(2 * x - 39), dy = abs(2 * y - 39);
                    int z = 0;
                    if (shape == 0)
                        for (z = 0; z < 10 && dx * dx + dy * dy + 9 * z * z < 1000;) z++;
                    if (shape == 1) z = (39 - (dx > dy ? dx : dy)) / 4;
                    if (shape == 2) z = y >= 25 && y < 30 && dx < 30 ? 7 : y >= 30 ? 1 : 0;
                    *steps(&c, x, y) = (uint8_t)z;
                }
            carry(&c, base);
            if (shape == 1)
                assert_int_equal(c.step_changes.count, 0); /* one step every two cells */
            if (shape == 2) assert_true(c.step_changes.count > 0);
            const Found f = lay_and_check(&c, base);
            assert_int_equal(f.floating, 0);
            assert_int_equal(f.tipping, 0);
            assert_int_equal(f.loose, 0);
            case_clear(&c);
        }
}

/* Random reliefs, rough and smooth, one to three thick, up to 12 steps: steps are only lowered,
 * as listed, and a second time not at all; no brick floats or tips; each panel of two thick and
 * more is one piece. */
static void random_reliefs_hold(void **state)
{
    (void)state;
    uint32_t seed = 5;
    long taken = 0, all = 0;
    for (int round = 0; round < 45; round++) {
        const int base = 1 + round % 3, most = 1 + (int)(chance(&seed) % 12);
        const int columns = 12 + (int)(chance(&seed) % 36), rows = 12 + (int)(chance(&seed) % 28);
        const int reach = (int)(chance(&seed) % 4);
        Case c;
        case_init(&c, columns, rows, 1 + (columns > 30), 1 + (rows > 28));
        scatter(c.grid.steps, columns, rows, most, 1 + reach, &seed);
        scatter(c.grid.colour, columns, rows, (int)(chance(&seed) % 10), (int)(chance(&seed) % 3),
                &seed);
        uint8_t before[48 * 40];
        memcpy(before, c.grid.steps, (size_t)(columns * rows));
        carry(&c, base);
        long lowered = 0;
        size_t changes = 0;
        for (int i = 0; i < columns * rows; i++) {
            assert_true(c.grid.steps[i] <= before[i]);
            changes += c.grid.steps[i] != before[i];
            lowered += before[i] - c.grid.steps[i];
            all += before[i];
        }
        assert_int_equal(changes, c.step_changes.count);
        assert_int_equal(lowered, c.step_changes.steps);
        taken += lowered;
        carry(&c, base);
        assert_int_equal(c.step_changes.count, 0);
        const Found f = lay_and_check(&c, base);
        assert_int_equal(f.floating, 0);
        assert_int_equal(f.tipping, 0);
        if (base > 1) assert_int_equal(f.loose, 0);
        case_clear(&c);
    }
    assert_true(taken * 20 < all); /* little goes: under a twentieth of all steps */
}

static void each_allocation_may_fail(void **state)
{
    (void)state;
    Case c;
    case_init(&c, 9, 6, 2, 1);
    for (int i = 0; i < 54; i++) c.grid.steps[i] = (uint8_t)(i / 9);
    uint8_t before[54];
    memcpy(before, c.grid.steps, sizeof before);
    for (long n = 0;; n++) {
        Fault fault = {0};
        memory_fail_after(n);
        const Status status = relief_support_steps(
            &(Relief){&c.grid, BUILD_WALL, 1, &c.panels, &c.sizes}, &c.step_changes, NULL, &fault);
        const bool failed = memory_countdown() < 0;
        memory_fail_after(-1);
        if (!failed) {
            assert_int_equal(status, STATUS_OK);
            assert_true(n > 10);
            break;
        }
        assert_int_equal(status, STATUS_NO_RESOURCE);
        assert_null(c.step_changes.change);
        assert_memory_equal(before, c.grid.steps, sizeof before);
    }
    case_clear(&c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_shelf_by_hand),
        cmocka_unit_test(a_widening_buttress_by_hand),
        cmocka_unit_test(the_lowest_course_is_held_from_above),
        cmocka_unit_test(what_is_carried_stays),
        cmocka_unit_test(a_brow_by_formula),
        cmocka_unit_test(shapes_by_formula),
        cmocka_unit_test(random_reliefs_hold),
        cmocka_unit_test(each_allocation_may_fail),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
