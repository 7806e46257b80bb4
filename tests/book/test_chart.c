#include "book/chart.h"
#include "support/mural_fixture.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

static Fixture fixture;

static int end(void **state)
{
    (void)state;
    fixture_clear(&fixture);
    return 0;
}

static const FixtureAsk asks[] = {
    {37, 29, 16, 12, 9, BUILD_PLAQUE, 1, 0, FACE_BANDS, PAPER_A4},
    {20, 20, 20, 20, 4, BUILD_PLAQUE, 1, 3, FACE_NOISE, PAPER_A4},
    {30, 18, 13, 9, 6, BUILD_WALL, 1, 0, FACE_NOISE, PAPER_A4},
    {26, 14, 26, 7, 5, BUILD_WALL, 3, 2, FACE_BANDS, PAPER_A4},
};
enum { ASKS = sizeof asks / sizeof asks[0] };

/* The brick at a unit, by looking at every brick of the mural; -1 is none. */
static long brick_at(const Mural *m, int column, int row, int tier)
{
    for (size_t i = 0; i < m->laid->count; i++) {
        const Brick *b = &m->laid->brick[i];
        if (column >= b->column && column < b->column + b->columns && row >= b->row &&
            row < b->row + b->rows && tier >= b->tier && tier < b->tier + b->tiers)
            return (long)i;
    }
    return -1;
}

static long plane_brick(const Plane *p, int u, int v)
{
    const bool wall = chart_is_wall(p->mural);
    return brick_at(p->mural, p->panel->column + u, wall ? p->layer : p->panel->row + v,
                    wall ? v : p->layer);
}

/* Every unit of every plane is covered by the brick that is there, and by no other box. */
static void check_boxes(const Plane *p)
{
    Boxes boxes = {0};
    long *at = calloc((size_t)(p->us * p->vs), sizeof *at);
    assert_int_equal(chart_plane_boxes(&boxes, p, (Window){0, 0, p->us, p->vs}, NULL), STATUS_OK);
    for (size_t i = 0; i < boxes.count; i++) {
        const Box *b = &boxes.box[i];
        assert_false(b->cut_left || b->cut_right || b->cut_low || b->cut_high);
        for (int v = b->v; v < b->v + b->vs; v++)
            for (int u = b->u; u < b->u + b->us; u++) {
                assert_int_equal(at[v * p->us + u], 0);
                at[v * p->us + u] = (long)b->brick + 1;
            }
    }
    for (int v = 0; v < p->vs; v++)
        for (int u = 0; u < p->us; u++)
            assert_int_equal(at[v * p->us + u], plane_brick(p, u, v) + 1);
    free(at);
    boxes_clear(&boxes);
}

/* A window shows the same units as the whole, and marks what it cuts. */
static void check_window(const Plane *p, Window w)
{
    Boxes boxes = {0};
    int units = 0, expected = 0;
    assert_int_equal(chart_plane_boxes(&boxes, p, w, NULL), STATUS_OK);
    for (size_t i = 0; i < boxes.count; i++) {
        const Box *b = &boxes.box[i];
        const long left = b->u > 0 ? plane_brick(p, b->u - 1, b->v) : -1;
        assert_int_equal(b->cut_left, left == (long)b->brick);
        const long low = b->v > 0 ? plane_brick(p, b->u, b->v - 1) : -1;
        assert_int_equal(b->cut_low, low == (long)b->brick);
        assert_true(b->u >= w.u && b->u + b->us <= w.u + w.us);
        assert_true(b->v >= w.v && b->v + b->vs <= w.v + w.vs);
        units += b->us * b->vs;
    }
    for (int v = w.v; v < w.v + w.vs; v++)
        for (int u = w.u; u < w.u + w.us; u++) expected += plane_brick(p, u, v) >= 0;
    assert_int_equal(units, expected);
    boxes_clear(&boxes);
}

static int layers_of(const Mural *m, int panel, int *first)
{
    const Panel *p = &m->panels->panel[panel];
    *first = chart_is_wall(m) ? p->row : 0;
    return chart_is_wall(m) ? p->rows : solid_depth(&m->solid);
}

/* Source: brute force over the units. */
static void boxes_are_the_bricks(void **state)
{
    (void)state;
    for (int a = 0; a < ASKS; a++) {
        fixture_init(&fixture, &asks[a]);
        const Mural *m = &fixture.mural;
        for (int panel = 0; panel < m->panels->count; panel++) {
            int first;
            const int layers = layers_of(m, panel, &first);
            for (int layer = first; layer < first + layers; layer++) {
                const Plane p = chart_plane(m, panel, layer);
                check_boxes(&p);
                if (p.us > 5 && p.vs > 2) check_window(&p, (Window){3, 1, p.us - 5, p.vs - 2});
            }
        }
        fixture_clear(&fixture);
    }
    fixture_init(&fixture, &asks[0]);
}

/* Source: the unit at each cell's top, by brute force. */
static void front_is_the_outermost(void **state)
{
    (void)state;
    fixture_init(&fixture, &asks[3]);
    const Mural *m = &fixture.mural;
    for (int panel = 0; panel < m->panels->count; panel++) {
        const Panel *p = &m->panels->panel[panel];
        long *at = calloc((size_t)(p->columns * p->rows), sizeof *at);
        Boxes boxes = {0};
        const Window all = {0, 0, p->columns, p->rows};
        assert_int_equal(chart_front_boxes(&boxes, m, panel, all, NULL), STATUS_OK);
        for (size_t i = 0; i < boxes.count; i++)
            for (int u = boxes.box[i].u; u < boxes.box[i].u + boxes.box[i].us; u++) {
                long *cell = &at[boxes.box[i].v * p->columns + u];
                assert_int_equal(*cell, 0);
                *cell = (long)boxes.box[i].brick + 1;
            }
        for (int v = 0; v < p->rows; v++)
            for (int u = 0; u < p->columns; u++) {
                const int column = p->column + u, row = p->row + v;
                const int top = solid_top(&m->solid, column, row);
                assert_int_equal(at[v * p->columns + u], brick_at(m, column, row, top - 1) + 1);
            }
        free(at);
        boxes_clear(&boxes);
    }
}

/* Runs rebuild the plane: every brick once, cells add up to the panel's width in each row,
 * and the bricks of all runs are all bricks. */
static void runs_are_the_bricks(void **state)
{
    (void)state;
    for (int a = 0; a < ASKS; a++) {
        fixture_init(&fixture, &asks[a]);
        const Mural *m = &fixture.mural;
        size_t bricks = 0;
        for (int panel = 0; panel < m->panels->count; panel++) {
            int first;
            const int layers = layers_of(m, panel, &first);
            for (int layer = first; layer < first + layers; layer++) {
                const Plane p = chart_plane(m, panel, layer);
                Runs runs;
                assert_int_equal(runs_init(&runs, &p, NULL), STATUS_OK);
                for (int v = 0; v < p.vs; v++) {
                    assert_int_equal(runs_next(&runs, NULL), STATUS_OK);
                    int u = 0;
                    for (size_t i = 0; i < runs.count; i++) {
                        const Run *r = &runs.run[i];
                        assert_int_equal(r->u, u);
                        u += r->cells;
                        const long at = plane_brick(&p, r->u, v);
                        const long under = v > 0 ? plane_brick(&p, r->u, v - 1) : -1;
                        assert_int_equal(r->kind == RUN_EMPTY, at < 0);
                        assert_int_equal(r->kind == RUN_LAID, at >= 0 && at == under);
                        if (r->kind == RUN_BRICKS)
                            assert_int_equal(m->laid->brick[at].colour, r->colour);
                    }
                    assert_int_equal(u, p.us);
                    assert_int_equal(runs.cells, p.us);
                    bricks += (size_t)runs.bricks;
                }
                runs_clear(&runs);
            }
        }
        assert_int_equal(bricks, m->laid->count);
        fixture_clear(&fixture);
    }
    fixture_init(&fixture, &asks[0]);
}

/* Geometry: pages cover the field, cells keep their shape and fit the area. */
static void split_fits_the_paper(void **state)
{
    (void)state;
    fixture_init(&fixture, &asks[0]);
    for (int us = 1; us < 200; us += 7)
        for (int vs = 1; vs < 200; vs += 11)
            for (int shape = 0; shape < 3; shape++) {
                const double aspect = shape == 0 ? 1.0 : shape == 1 ? 1.2 : 0.4;
                ChartArea area = CHART_AREA_DEFAULT;
                area.us = us;
                area.vs = vs;
                area.aspect = aspect;
                const Split s = chart_split(&area);
                assert_true(s.across * s.us >= us && (s.across - 1) * s.us < us);
                assert_true(s.up * s.vs >= vs && (s.up - 1) * s.vs < vs);
                assert_true(s.width >= 4.85 && s.width <= 9.0);
                assert_true(s.us * s.width <= 252.0 + 1e-6 && s.vs * s.height <= 144.0 + 1e-6);
                assert_true(fabs(s.height / s.width - aspect) < 1e-9);
            }
}

/* By hand: three panels across hang 1 in the centre, then right and left of it. */
static void hanging_starts_at_the_bottom_centre(void **state)
{
    (void)state;
    fixture_init(&fixture, &asks[0]);
    int order[12];
    Panels panels = {.across = 3, .up = 2, .count = 6};
    static const int odd[6] = {3, 1, 2, 6, 4, 5};
    chart_hanging(&panels, order);
    for (int i = 0; i < 6; i++) assert_int_equal(order[i], odd[i]);
    panels = (Panels){.across = 4, .up = 1, .count = 4};
    static const int even[4] = {3, 1, 2, 4};
    chart_hanging(&panels, order);
    for (int i = 0; i < 4; i++) assert_int_equal(order[i], even[i]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_teardown(boxes_are_the_bricks, end),
        cmocka_unit_test_teardown(front_is_the_outermost, end),
        cmocka_unit_test_teardown(runs_are_the_bricks, end),
        cmocka_unit_test_teardown(split_fits_the_paper, end),
        cmocka_unit_test_teardown(hanging_starts_at_the_bottom_centre, end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
