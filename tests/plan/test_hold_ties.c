/* Ties: four tiers of one cell of a colour of its own, at the edge of a field that stands out, come
 * off at 0.28 N, by their lever. A brick over one of them and hidden units beside it leaves the
 * outermost alone on its knob, which holds 1.125 N, by its lever. Where what is beside shows
 * another colour or stands lower, no brick may lie across. */
#include "bricks/lay.h"
#include "clutch/holds.h"
#include "plan/hold_ties.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

enum { SIDE = 8, STEPS = 4, AT_COLUMN = 3, AT_ROW = 2, FIELD = 1, LONE = 2 };

/* By hand: a push at the top of n bricks, n layers high, against half a pitch of one knob. */
#define LEVER_N(n) (2.7 * 4 / ((n)*9.6))

typedef struct Scene {
    Body body;
    Panel panel;
    Sizes sizes;
    Laid laid;
    UnitMap map;
} Scene;

static void put(Scene *s, int column, int row, int tier, int columns, int rows)
{
    const Brick brick = {.column = column,
                         .row = row,
                         .tier = (uint8_t)tier,
                         .columns = (uint8_t)columns,
                         .rows = (uint8_t)rows,
                         .tiers = 1,
                         .size = (uint8_t)sizes_find(&s->sizes, columns, rows)};
    assert_int_equal(laid_add(&s->laid, &brick, NULL), STATUS_OK);
}

/* Rows 2 and on of `deep` rows stand out; at their lower edge is the lone cell. Each tier is laid
 * alike, the lone cell by itself. */
static void scene_init(Scene *s, int deep)
{
    *s = (Scene){.panel = {"r1c1", 0, 0, SIDE, SIDE}};
    Grid *grid = &s->body.grid;
    sizes_default(&s->sizes, 8, 9.6);
    assert_int_equal(grid_init(grid, SIDE, SIDE, true, NULL), STATUS_OK);
    for (int i = 0; i < SIDE * SIDE; i++) {
        grid->colour[i] = FIELD;
        grid->steps[i] = i / SIDE >= AT_ROW && i / SIDE < AT_ROW + deep ? STEPS : 0;
    }
    grid->colour[AT_ROW * SIDE + AT_COLUMN] = LONE;
    s->body.solid = (Solid){.grid = grid, .build = BUILD_PLAQUE, .base = 1};
    s->body.panels = (Panels){1, 1, 1, &s->panel, NULL};
    for (int row = 0; row < SIDE; row += 2) put(s, 0, row, 0, SIDE, 2);
    for (int tier = 1; tier <= STEPS; tier++) {
        put(s, 0, AT_ROW, tier, AT_COLUMN, 1);
        put(s, AT_COLUMN, AT_ROW, tier, 1, 1);
        put(s, AT_COLUMN + 1, AT_ROW, tier, SIDE - AT_COLUMN - 1, 1);
        for (int row = AT_ROW + 1; row < AT_ROW + deep; row++) put(s, 0, row, tier, SIDE, 1);
    }
    laid_sort(&s->laid, false);
    assert_int_equal(unit_map_init(&s->map, &s->body.solid, &s->laid, NULL), STATUS_OK);
}

static void scene_clear(Scene *s)
{
    unit_map_clear(&s->map);
    laid_clear(&s->laid);
    grid_clear(&s->body.grid);
}

static const Brick *outermost(const Laid *laid)
{
    for (size_t i = 0; i < laid->count; i++) {
        const Brick *b = &laid->brick[i];
        if (b->tier == STEPS && b->column == AT_COLUMN && b->row == AT_ROW) return b;
    }
    fail();
    return NULL;
}

static double hold_of_outermost(const Scene *s, const Laid *laid)
{
    const HoldTask task = {.solid = &s->body.solid,
                           .panels = &s->body.panels,
                           .laid = laid,
                           .sizes = &s->sizes,
                           .model = {8, 9.6, {2.7, 1.6}},
                           .safety = 3,
                           .crate_g = 2,
                           .touch_n = 1,
                           .threads = 1};
    Holds holds;
    assert_int_equal(holds_init(&holds, &task, NULL, NULL), STATUS_OK);
    const double hold = (double)holds.touch_n[outermost(laid) - laid->brick];
    holds_clear(&holds);
    return hold;
}

static bool find_tie(const Scene *s, const Laid *ties, Brick *tie_out)
{
    const TieTask task = {&s->body, &s->sizes, &s->laid, &s->map, ties};
    return hold_ties_find(&task, outermost(&s->laid), tie_out);
}

static void a_stack_is_tied_to_what_is_hidden_beside_it(void **state)
{
    (void)state;
    Scene s;
    Laid ties = {0}, tied = {0}, loose = {0};
    LayReport with, without;
    LayOptions options = LAY_OPTIONS_DEFAULT;
    Brick tie;
    scene_init(&s, 4);
    assert_true(fabs(hold_of_outermost(&s, &s.laid) - LEVER_N(4)) < 1e-6);
    assert_true(find_tie(&s, &ties, &tie));
    assert_int_equal(tie.tier, STEPS - 1);
    assert_true(tie.column == AT_COLUMN && tie.row == AT_ROW && tie.columns == 1 && tie.rows > 1);
    assert_int_equal(laid_add(&ties, &tie, NULL), STATUS_OK);
    const LayTask task = {&s.body.solid, &s.body.panels, &s.sizes};
    assert_int_equal(lay(&task, &options, &loose, &without, NULL, NULL), STATUS_OK);
    options.ties = &ties;
    assert_int_equal(lay(&task, &options, &tied, &with, NULL, NULL), STATUS_OK);
    assert_true(hold_of_outermost(&s, &tied) >= LEVER_N(1) * 0.99);
    assert_true(with.lower_bound == without.lower_bound);
    size_t there = 0;
    for (size_t i = 0; i < tied.count; i++) {
        const Brick *b = &tied.brick[i];
        there += b->tier == tie.tier && b->column == tie.column && b->row == tie.row &&
                 b->columns == tie.columns && b->rows == tie.rows && b->colour == LONE && b->shown;
    }
    assert_int_equal(there, 1);
    laid_clear(&loose);
    laid_clear(&tied);
    laid_clear(&ties);
    scene_clear(&s);
}

/* A field two rows deep has nothing hidden but its base: units beside the stack show the field's
 * colour, or are not there. And where a tie lies already there is no second one in its place. */
static void where_colours_part_no_tie_is_found(void **state)
{
    (void)state;
    Scene s;
    Laid ties = {0};
    Brick tie;
    for (int deep = 1; deep <= 2; deep++) {
        scene_init(&s, deep);
        assert_false(find_tie(&s, &ties, &tie));
        scene_clear(&s);
    }
    scene_init(&s, 4);
    for (int tier = STEPS - 1; tier > 0; tier--) {
        assert_true(find_tie(&s, &ties, &tie));
        assert_int_equal(tie.tier, tier);
        assert_int_equal(laid_add(&ties, &tie, NULL), STATUS_OK);
    }
    assert_false(find_tie(&s, &ties, &tie));
    laid_clear(&ties);
    scene_clear(&s);
}

/* A job may leave sizes out: a tie has one that is laid already, and where a laying is to do
 * without that size there is no tie. */
static void a_tie_brings_no_size(void **state)
{
    (void)state;
    Scene s;
    Laid ties = {0}, laid = {0};
    LayReport report;
    LayOptions options = LAY_OPTIONS_DEFAULT;
    double cost[SIZES_MOST];
    Brick tie;
    scene_init(&s, 4);
    assert_true(find_tie(&s, &ties, &tie));
    assert_true(s.map.has_size[tie.size]);
    assert_int_equal(laid_add(&ties, &tie, NULL), STATUS_OK);
    for (int i = 0; i < s.sizes.count; i++) cost[i] = i == tie.size ? INFINITY : 1;
    options.ties = &ties;
    options.cost = cost;
    const LayTask task = {&s.body.solid, &s.body.panels, &s.sizes};
    assert_int_equal(lay(&task, &options, &laid, &report, NULL, NULL), STATUS_OK);
    for (size_t i = 0; i < laid.count; i++) assert_int_not_equal(laid.brick[i].size, tie.size);
    const uint8_t left_out = tie.size;
    ties.count = 0;
    s.map.has_size[left_out] = false;
    assert_true(!find_tie(&s, &ties, &tie) || tie.size != left_out);
    memset(s.map.has_size, 0, sizeof s.map.has_size);
    assert_false(find_tie(&s, &ties, &tie));
    laid_clear(&laid);
    laid_clear(&ties);
    scene_clear(&s);
}

/* What the solid, its colours or another tie forbid is laid as if it had not been asked for. */
static void a_tie_that_does_not_fit_is_left_out(void **state)
{
    (void)state;
    Scene s;
    Laid laid = {0};
    LayReport report;
    LayOptions options = LAY_OPTIONS_DEFAULT;
    scene_init(&s, 2);
    const uint8_t size = (uint8_t)sizes_find(&s.sizes, 1, 4);
    Brick wrong[] = {
        {.column = AT_COLUMN, .row = AT_ROW - 2, .tier = 1, .columns = 1, .rows = 4, .size = size},
        {.column = 0, .row = AT_ROW, .tier = 2, .columns = 4, .rows = 1, .size = size},
        {.column = 4, .row = AT_ROW, .tier = 2, .columns = 4, .rows = 1, .size = size},
        {.column = 4, .row = AT_ROW, .tier = 2, .columns = 4, .rows = 1, .size = size},
    };
    const Laid ties = {4, 4, wrong};
    options.ties = &ties;
    const LayTask task = {&s.body.solid, &s.body.panels, &s.sizes};
    assert_int_equal(lay(&task, &options, &laid, &report, NULL, NULL), STATUS_OK);
    size_t units = 0;
    for (size_t i = 0; i < laid.count; i++)
        units += (size_t)(laid.brick[i].columns * laid.brick[i].rows);
    assert_int_equal(units, SIDE * SIDE + STEPS * 2 * SIDE);
    laid_clear(&laid);
    scene_clear(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_stack_is_tied_to_what_is_hidden_beside_it),
        cmocka_unit_test(where_colours_part_no_tie_is_found),
        cmocka_unit_test(a_tie_brings_no_size),
        cmocka_unit_test(a_tie_that_does_not_fit_is_left_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
