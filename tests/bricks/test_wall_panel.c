/* Masonry: a course is laid at the least price that brute force finds against its neighbours, and
 * never dearer than it was. Prices of bricks and lines are asked of course_prices.h, all else is
 * done here. */
#include "bricks/wall/wall_local_search.h"
#include "bricks/wall/wall_panel.h"
#include "bricks/wall/wall_sweep.h"
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

typedef struct Plan {
    int columns, rows, thickness, colours, steps;
} Plan;

static void case_init(Case *c, const Plan *plan, uint32_t *seed)
{
    static const int size[11][2] = {{1, 1}, {1, 2}, {1, 3}, {1, 4}, {1, 6}, {1, 8},
                                    {2, 2}, {2, 3}, {2, 4}, {2, 6}, {2, 8}};
    const int columns = plan->columns, rows = plan->rows;
    Fault fault;
    memset(c, 0, sizeof *c);
    assert_int_equal(grid_init(&c->grid, columns, rows, plan->steps > 0, &fault), STATUS_OK);
    for (int i = 0; i < columns * rows; i++) { /* a third of the cells differ from those below */
        const uint8_t drawn = (uint8_t)(chance(seed) % (uint32_t)plan->colours);
        const bool keep = i >= columns && chance(seed) % 3 > 0;
        c->grid.colour[i] = keep ? c->grid.colour[i - columns] : drawn;
        if (plan->steps) /* none overhangs */
            c->grid.steps[i] = (uint8_t)(i < columns ? chance(seed) % (uint32_t)(plan->steps + 1)
                                                     : c->grid.steps[i - columns]);
    }
    c->sizes.count = 11;
    for (int i = 0; i < 11; i++) {
        c->sizes.size[i].width = size[i][0];
        c->sizes.size[i].length = size[i][1];
    }
    c->solid = (Solid){.grid = &c->grid, .build = BUILD_WALL, .base = plan->thickness};
    c->panel = (Panel){"r1c1", 0, 0, columns, rows};
    c->panels = (Panels){1, 1, 1, &c->panel, NULL};
    c->options = LAY_OPTIONS_DEFAULT;
    c->wall = (Wall){
        .solid = &c->solid, .sizes = &c->sizes, .panels = &c->panels, .options = &c->options};
    cuts_init(&c->wall.cuts, &c->sizes, NULL);
    shapes_init(&c->wall.shapes, &c->sizes, NULL);
    shapes_init(&c->wall.plain_shapes, &c->sizes, NULL);
    c->wall.price_step = course_prices_step(&c->wall.shapes);
    assert_int_equal(wall_panel_init(&c->wall_panel, &c->wall, 0, &fault), STATUS_OK);
    assert_int_equal(wall_sweep_first(&c->wall_panel, &fault), STATUS_OK);
}

static void case_clear(Case *c)
{
    wall_panel_finish(&c->wall_panel);
    wall_panel_clear(&c->wall_panel);
    grid_clear(&c->grid);
}

/* ---- what a course costs ---- */

/* One course, with its neighbours as they stand. */
typedef struct Pricing {
    WallPanel *w;
    CourseBed bed;
    CoursePrices prices;
    int64_t best; /* of the layings tried so far */
} Pricing;

static void pricing_init(Pricing *p, Case *c, int row)
{
    Fault fault;
    *p = (Pricing){.w = &c->wall_panel, .bed = wall_panel_bed(&c->wall_panel, row)};
    corbel_see(&p->w->corbel, row);
    assert_int_equal(course_prices_init(&p->prices, &p->bed, &fault), STATUS_OK);
}

static int64_t brick_cost(const Pricing *p, int column, int tier, int columns, int tiers)
{
    const Tile place = {column, tier, (uint8_t)columns, (uint8_t)tiers, 0, 0};
    return SHAPE_ONE + course_prices_of(&p->prices, &place);
}

/* Lines that nothing crosses, those that nothing can among them. */
static int64_t cost_of_lines(const Pricing *p, const bool *crossed)
{
    int64_t sum = 0;
    for (int x = 1; x < p->bed.columns; x++)
        if (!crossed[x]) sum += p->prices.line[x];
    return sum;
}

static int64_t cost_of(const Pricing *p, const Course *course)
{
    int64_t sum = 0;
    bool crossed[64] = {false};
    for (size_t i = 0; i < course->count; i++) {
        const CourseBrick *b = &course->brick[i];
        sum += brick_cost(p, b->column, b->tier, b->columns, b->tiers);
        for (int x = 1; x < b->columns; x++) crossed[b->column + x] = true;
    }
    return sum + cost_of_lines(p, crossed);
}

/* Whether a brick of such sides fits on what is bare, and shows one colour. */
static bool fits(const Pricing *p, const bool *laid, int column, int tier, int columns, int tiers)
{
    int colour = HUE_FREE;
    if (column + columns > p->bed.columns || tier + tiers > p->bed.depth) return false;
    for (int t = tier; t < tier + tiers; t++)
        for (int x = column; x < column + columns; x++) {
            const int hue = p->w->corbel.hue[t * p->bed.columns + x];
            if (hue == HUE_NONE || laid[t * p->bed.columns + x]) return false;
            if (hue == HUE_FREE) continue;
            if (colour != HUE_FREE && hue != colour) return false;
            colour = hue;
        }
    return true;
}

/* Every laying that may be cheaper than the best: the first bare unit gets every brick in turn. */
static void brute(Pricing *p, bool *laid, const bool *crossed, int64_t cost)
{
    const int units = p->bed.columns * p->bed.depth;
    int at = 0;
    if (cost >= p->best) return;
    while (at < units && (laid[at] || p->w->corbel.hue[at] == HUE_NONE)) at++;
    if (at == units) {
        cost += cost_of_lines(p, crossed);
        if (cost < p->best) p->best = cost;
        return;
    }
    const int column = at % p->bed.columns, tier = at / p->bed.columns;
    for (int k = 0; k < p->w->wall->shapes.count; k++) {
        const Shape *s = &p->w->wall->shapes.shape[k];
        if (!fits(p, laid, column, tier, s->columns, s->rows)) continue;
        bool across[64];
        memcpy(across, crossed, sizeof across);
        for (int x = 1; x < s->columns; x++) across[column + x] = true;
        for (int i = 0; i < s->columns * s->rows; i++)
            laid[at + i / s->columns * p->bed.columns + i % s->columns] = true;
        brute(p, laid, across, cost + brick_cost(p, column, tier, s->columns, s->rows));
        for (int i = 0; i < s->columns * s->rows; i++)
            laid[at + i / s->columns * p->bed.columns + i % s->columns] = false;
    }
}

/* A course of few units is searched outright (tiling_solver.c). */
static void a_course_is_laid_at_the_least(void **state)
{
    (void)state;
    uint32_t seed = 2;
    for (int round = 0; round < 60; round++) {
        Case c;
        Fault fault;
        const int thickness = 1 + round % 3;
        const Plan plan = {2 + (int)(chance(&seed) % (thickness > 2 ? 3 : 6)),
                           2 + (int)(chance(&seed) % 4), thickness, 1 + (int)(chance(&seed) % 3),
                           thickness == 2 ? (int)(chance(&seed) % 2) : 0};
        case_init(&c, &plan, &seed);
        assert_int_equal(wall_sweep(&c.wall_panel, true, &fault), STATUS_OK);
        const int row = (int)(chance(&seed) % (uint32_t)plan.rows);
        assert_int_equal(wall_sweep_lay(&c.wall_panel, row, &fault), STATUS_OK);
        Pricing p;
        pricing_init(&p, &c, row);
        bool laid[64] = {false}, crossed[64] = {false};
        const int64_t cost = cost_of(&p, &c.wall_panel.course[row]);
        p.best = cost + 1;
        brute(&p, laid, crossed, 0);
        assert_true(cost == p.best);
        course_prices_clear(&p.prices);
        case_clear(&c);
    }
}

static void no_course_is_laid_dearer(void **state)
{
    (void)state;
    uint32_t seed = 1;
    for (int round = 0; round < 40; round++) {
        Case c;
        Fault fault;
        const Plan plan = {2 + (int)(chance(&seed) % 40), 2 + (int)(chance(&seed) % 12),
                           1 + round % 4, 1 + (int)(chance(&seed) % 6), 0};
        case_init(&c, &plan, &seed);
        for (int i = 0; i < 30; i++) {
            const int row = (int)(chance(&seed) % (uint32_t)plan.rows);
            Pricing p;
            pricing_init(&p, &c, row);
            const int64_t before = cost_of(&p, &c.wall_panel.course[row]);
            course_prices_clear(&p.prices);
            assert_int_equal(wall_sweep_lay(&c.wall_panel, row, &fault), STATUS_OK);
            pricing_init(&p, &c, row);
            assert_true(cost_of(&p, &c.wall_panel.course[row]) <= before);
            course_prices_clear(&p.prices);
        }
        assert_int_equal(wall_local_search(&c.wall_panel, 1, &fault), STATUS_OK);
        case_clear(&c);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_course_is_laid_at_the_least),
        cmocka_unit_test(no_course_is_laid_dearer),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
