#include "cells/merge_bricks.h"

#include "cells/look.h"
#include "cells/match.h"
#include "plan/trial_lay.h"
#include "support/faces.h"
#include "support/failing.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

typedef struct Scene {
    Palette palette;
    Image target;
    Grid grid;
    Sizes sizes;
    Solid solid;
    Panels panels;
    TrialLay trial;
    LookLayer layer;
    LookOptions options;
} Scene;

static Scene *scene_make(const char *path, int columns, int rows, Build build, int panel)
{
    Scene *s = calloc(1, sizeof *s);
    palette_of_patches(&s->palette);
    if (!s || !picture_read(path, columns, rows, &s->target)) abort();
    if (grid_init(&s->grid, columns, rows, false, NULL)) abort();
    plain_nearest(&s->target, &s->palette, &s->grid);
    sizes_default(&s->sizes, 8.0, 9.6);
    s->solid = (Solid){.grid = &s->grid, .build = build, .base = 1};
    const PanelLimits limits = {.columns = panel, .rows = panel, .mass_kg = 1e6};
    if (panels_init(&s->panels, &s->solid, &s->sizes, &limits, NULL)) abort();
    const LayOptions laying = {.threads = 2};
    trial_lay_init(&s->trial, &s->solid, &s->sizes, &s->panels, &laying, NULL);
    s->layer = trial_lay_layer(&s->trial);
    s->options = LOOK_OPTIONS_DEFAULT;
    s->options.build = build;
    s->options.threads = 2;
    return s;
}

static void scene_free(Scene *s)
{
    image_clear(&s->target);
    grid_clear(&s->grid);
    panels_clear(&s->panels);
    free(s);
}

/* A search state that shows the scene's grid, with no price on bricks. */
static void show_scene(const Scene *s, SearchState *state)
{
    const size_t cells = (size_t)s->grid.columns * (size_t)s->grid.rows;
    uint8_t *colour = malloc(cells);
    memcpy(colour, s->grid.colour, cells);
    const SearchProblem problem = {.target = &s->target,
                                   .palette = &s->palette,
                                   .viewpoint = s->options.viewpoint,
                                   .build = s->solid.build,
                                   .detail = s->options.detail,
                                   .keep = s->options.keep,
                                   .threads = s->options.threads};
    if (search_state_init(state, &problem, (Grid *)&s->grid, NULL)) abort();
    memcpy(s->grid.colour, colour, cells);
    search_state_linearise(state);
    free(colour);
}

static size_t count_bricks(const FaceBricks *p)
{
    size_t count = 0;
    for (size_t i = 0; i < p->count; i++) count += p->brick[i].columns > 0;
    return count;
}

/* Every cell in one piece, every piece of one colour, in one panel and of the set. */
static void assert_tiles(const Scene *s, const FaceBricks *p)
{
    long covered = 0;
    for (size_t i = 0; i < p->count; i++) {
        const FaceBrick *q = &p->brick[i];
        if (!q->columns) continue;
        assert_true(sizes_find(&s->sizes, q->columns, q->deep) >= 0);
        for (int y = q->row; y < q->row + q->rows; y++)
            for (int x = q->column; x < q->column + q->columns; x++) {
                assert_int_equal(p->at[y * p->columns + x], i);
                assert_int_equal(grid_colour(&s->grid, x, y),
                                 grid_colour(&s->grid, q->column, q->row));
                assert_int_equal(panels_at(&s->panels, x, y), q->panel);
                covered++;
            }
    }
    assert_int_equal(covered, (long)p->columns * p->rows);
}

/* Sweeps until nothing changes. Then the bricks tile the face, what was paid for them is
 * less than what they are worth, and cells that are kept have their colours. */
static void check_to_the_end(Build build, double price)
{
    Scene *s = scene_make("tests/data/pictures/astronaut.png", 34, 26, build, 17);
    bool kept[34 * 26] = {false};
    for (int i = 0; i < 34 * 26; i++) kept[i] = i % 34 > 27 && i / 34 > 20;
    s->options.keep.cell = kept;
    uint8_t first[34 * 26];
    memcpy(first, s->grid.colour, sizeof first);
    FaceBricks bricks;
    assert_int_equal(s->layer.lay(s->layer.self, &s->grid, &bricks, NULL), STATUS_OK);
    assert_tiles(s, &bricks);
    const size_t before = count_bricks(&bricks);
    SearchState search;
    show_scene(s, &search);
    const double objective = search_state_objective(&search);
    BrickMerging merging = {&bricks, &s->sizes, NULL, price};
    long changes = 0, now;
    search.visit_all = true;
    do {
        size_t count = count_bricks(&bricks);
        changes += now = merge_bricks_sweep(&merging, &search);
        if (!now && count_bricks(&bricks) < count) now = 1;
    } while (now);
    assert_tiles(s, &bricks);
    const size_t after = count_bricks(&bricks);
    assert_true(after < before && changes > 0);
    const double ended = search_state_objective(&search);
    assert_true(ended - objective < price * (double)(before - after));
    for (int i = 0; i < 34 * 26; i++) assert_true(!kept[i] || s->grid.colour[i] == first[i]);
    search_state_clear(&search);
    face_bricks_clear(&bricks);
    scene_free(s);
}

static void test_to_the_end(void **state)
{
    (void)state;
    check_to_the_end(BUILD_PLAQUE, 6.0);
    check_to_the_end(BUILD_PLAQUE, 20.0);
    check_to_the_end(BUILD_WALL, 12.0);
}

/* By hand: three bricks in a course, of which the middle one can hardly be told from the
 * left; in this set they are one, and the right one stays. */
static void test_by_hand(void **state)
{
    (void)state;
    Scene *s = scene_make("tests/data/pictures/astronaut.png", 6, 1, BUILD_PLAQUE, 48);
    s->palette.count = 0;
    palette_add(&s->palette, (Lab){50, 0, 0});
    palette_add(&s->palette, (Lab){51, 0, 0});
    palette_add(&s->palette, (Lab){80, 0, 0});
    static const uint8_t colour[6] = {0, 0, 1, 1, 2, 2};
    for (int i = 0; i < 6; i++) {
        const Xyz c = s->palette.colour[colour[i]].xyz;
        float *to = s->target.xyz + 3 * i;
        to[0] = (float)c.x, to[1] = (float)c.y, to[2] = (float)c.z;
    }
    memcpy(s->grid.colour, colour, 6);
    FaceBricks bricks;
    assert_int_equal(s->layer.lay(s->layer.self, &s->grid, &bricks, NULL), STATUS_OK);
    assert_int_equal(count_bricks(&bricks), 3);
    SearchState search;
    show_scene(s, &search);
    BrickMerging merging = {&bricks, &s->sizes, NULL, 4.0};
    search.visit_all = true;
    assert_int_equal(merge_bricks_sweep(&merging, &search), 2);
    assert_int_equal(count_bricks(&bricks), 2);
    assert_int_equal(grid_colour(&s->grid, 0, 0), grid_colour(&s->grid, 3, 0));
    assert_int_equal(grid_colour(&s->grid, 4, 0), 2);
    search_state_clear(&search);
    face_bricks_clear(&bricks);
    scene_free(s);
}

static size_t bricks_of(const Scene *s)
{
    LayOptions options = LAY_OPTIONS_DEFAULT;
    options.threads = 2;
    Laid laid = {0};
    LayReport report;
    if (lay(&(LayTask){&s->solid, &s->panels, &s->sizes}, &options, &laid, &report, NULL, NULL))
        abort();
    laid_clear(&laid);
    return report.bricks;
}

static double seen(const Scene *s)
{
    EyeResult result;
    if (eye_measure(&s->target, &s->palette, &s->grid,
                    &(EyeOptions){.viewpoint = s->options.viewpoint, .threads = 2}, &result, NULL))
        abort();
    return result.mean;
}

/* What it is for: fewer bricks, as laid in earnest, for hardly any difference more. The
 * same cells on any number of threads. */
static void test_look(void **state)
{
    (void)state;
    for (int n = 0; n < 3; n++) {
        Scene *s = scene_make(n % 2 ? "tests/data/pictures/coffee.png"
                                    : "tests/data/pictures/astronaut.png",
                              128, 96, n == 2 ? BUILD_WALL : BUILD_PLAQUE, 48);
        /* A face that is calm already leaves little to merge, so it is judged without. */
        s->options.calm = 0.0;
        s->options.thrift = 0.5;
        LookReport report;
        if (look_search(&s->target, &s->palette, &s->options, &s->grid, &report, NULL)) abort();
        assert_true(report.price_brick == 0.0);
        const size_t plain = bricks_of(s);
        const double plain_seen = seen(s);
        s->options.layer = &s->layer;
        uint8_t first[128 * 96];
        for (int threads = 1; threads < 8; threads += 3) {
            s->options.threads = threads;
            if (look_search(&s->target, &s->palette, &s->options, &s->grid, &report, NULL)) abort();
            if (threads == 1) memcpy(first, s->grid.colour, sizeof first);
            assert_memory_equal(first, s->grid.colour, sizeof first);
        }
        assert_true(report.price_brick > 0.0);
        assert_true((double)bricks_of(s) <= (n < 2 ? 0.95 : 1.0) * (double)plain);
        assert_true(seen(s) < 1.08 * plain_seen);
        scene_free(s);
    }
}

/* Bricks fall evenly from thrift 0 to 1: each fifth takes from a half to one and a half times a
 * fifth of what all take. And a face is a face still at 1: its difference is not twice the nearest
 * colours'. */
static void test_even_thrift(void **state)
{
    (void)state;
    enum { STEPS = 5 };
    for (int n = 0; n < 2; n++) {
        Scene *s =
            scene_make(n ? "tests/data/pictures/coffee.png" : "tests/data/pictures/astronaut.png",
                       112, 84, BUILD_PLAQUE, 48);
        if (palette_default(&s->palette, NULL)) abort();
        plain_nearest(&s->target, &s->palette, &s->grid);
        const double nearest = seen(s);
        double bricks[STEPS + 1];
        s->options.layer = &s->layer;
        for (int i = 0; i <= STEPS; i++) {
            s->options.thrift = (double)i / STEPS;
            if (look_search(&s->target, &s->palette, &s->options, &s->grid, NULL, NULL)) abort();
            bricks[i] = (double)bricks_of(s);
        }
        assert_true(seen(s) < 2.0 * nearest);
        const double fifth = (bricks[0] - bricks[STEPS]) / STEPS;
        assert_true(fifth > 0.08 * bricks[0]);
        for (int i = 0; i < STEPS; i++) {
            const double taken = bricks[i] - bricks[i + 1];
            if (taken < 0.5 * fifth || taken > 1.5 * fifth)
                fail_msg("bricks %.0f, then %.0f", bricks[i], bricks[i + 1]);
        }
        scene_free(s);
    }
}

/* A set whose bricks cannot cover the face: the search goes on without. */
static void test_no_laying(void **state)
{
    (void)state;
    Scene *s = scene_make("tests/data/pictures/coffee.png", 30, 20, BUILD_PLAQUE, 48);
    s->sizes.count = 1;
    s->sizes.size[0] = (Size){.name = "2x4", .width = 2, .length = 4, .mass_g = 2.0};
    s->options.layer = &s->layer;
    LookReport report;
    Fault fault = {0};
    assert_int_equal(look_search(&s->target, &s->palette, &s->options, &s->grid, &report, &fault),
                     STATUS_OK);
    assert_true(report.price_brick > 0.0); /* it was asked */
    const size_t cells = (size_t)s->grid.columns * (size_t)s->grid.rows;
    uint8_t with[30 * 20];
    assert_int_equal(cells, sizeof with);
    memcpy(with, s->grid.colour, cells);
    s->options.layer = NULL;
    assert_int_equal(look_search(&s->target, &s->palette, &s->options, &s->grid, NULL, &fault),
                     STATUS_OK);
    assert_memory_equal(with, s->grid.colour, cells);
    scene_free(s);
}

/* Every allocation fails in turn. From so near that the blur ends within the few cells. */
static void test_allocations(void **state)
{
    (void)state;
    Scene *s = scene_make("tests/data/pictures/coffee.png", 14, 12, BUILD_PLAQUE, 48);
    s->options.viewpoint.distance_mm = 2500;
    s->options.start = INITIAL_NEAREST; /* test_look tries them all */
    s->options.layer = &s->layer;
    s->options.threads = s->trial.options.threads = 1;
    for (Failing failing = {0}; failing_next(&failing);) {
        const bool watched = !failing.at;
        Fault fault = {0};
        const Status status =
            look_search(&s->target, &s->palette, &s->options, &s->grid, NULL, &fault);
        assert_int_equal(failing_ended(&failing), !watched);
        assert_int_equal(status, watched ? STATUS_OK : STATUS_NO_RESOURCE);
    }
    scene_free(s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_by_hand),     cmocka_unit_test(test_to_the_end),
        cmocka_unit_test(test_look),        cmocka_unit_test(test_no_laying),
        cmocka_unit_test(test_even_thrift), cmocka_unit_test(test_allocations),
    };
    return cmocka_run_group_tests_name("fuse", tests, NULL, NULL);
}
