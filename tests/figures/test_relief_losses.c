/* What a relief lost: cells, steps and mass counted by hand; the look by what must hold of it
 * whatever the formula: twins lose alike, far places do not meddle, what is lost in the shade is
 * not seen. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/memory.h"
#include "figures/relief_losses.h"

#include <math.h>
#include <string.h>

enum { WIDE = 60, HIGH = 30 };

typedef struct Scene {
    Job job;
    Palette palette;
    Sizes sizes;
    Grid grid;
    Panel panel;
    Panels panels;
    StepChange change[64];
    StepChanges changes;
    Subject subject;
    Mural mural;
    ReliefLosses losses;
} Scene;

/* A grey wall, the lamp at the left. */
static void scene_init(Scene *s)
{
    memset(s, 0, sizeof *s);
    job_init(&s->job);
    s->job.light_angle = 270;
    s->palette.count = 1;
    s->palette.colour[0].lab = (Lab){60, 0, 0};
    s->palette.colour[0].xyz = xyz_from_lab(s->palette.colour[0].lab);
    s->sizes.count = 2;
    s->sizes.size[0] = (Size){.width = 1, .length = 1, .mass_g = 0.5};
    s->sizes.size[1] = (Size){.width = 2, .length = 4, .mass_g = 2.4}; /* 0.3 g a unit */
    assert_int_equal(grid_init(&s->grid, WIDE, HIGH, true, NULL), 0);
    s->panel = (Panel){.columns = WIDE, .rows = HIGH};
    s->panels = (Panels){1, 1, 1, &s->panel, NULL};
    s->changes.change = s->change;
    s->mural = (Mural){.job = &s->job,
                       .threads = 2,
                       .palette = &s->palette,
                       .sizes = &s->sizes,
                       .grid = &s->grid,
                       .solid = {.grid = &s->grid, .build = BUILD_WALL, .base = 1},
                       .panels = &s->panels,
                       .step_changes = &s->changes,
                       .cell_width_mm = 8,
                       .cell_height_mm = 9.6,
                       .step_mm = 8};
}

static void scene_clear(Scene *s)
{
    relief_losses_clear(&s->losses);
    grid_clear(&s->grid);
    memory_free(s->subject.label);
}

static uint8_t *steps(Scene *s, int column, int row) { return &s->grid.steps[row * WIDE + column]; }

static void lower(Scene *s, int column, int row, int from, int to)
{
    *steps(s, column, row) = (uint8_t)to;
    s->change[s->changes.count++] = (StepChange){column, row, (uint8_t)from, (uint8_t)to};
    s->changes.lowered += to < from;
    s->changes.steps += from - to;
}

static void lose(Scene *s)
{
    relief_losses_clear(&s->losses);
    assert_int_equal(relief_losses_init(&s->losses, &s->mural, NULL), 0);
}

static void places_are_counted(void **state)
{
    (void)state;
    Scene s;
    scene_init(&s);
    s.subject = (Subject){.columns = WIDE, .rows = HIGH, .label = memory_create(WIDE * HIGH, 1)};
    s.subject.list.count = 3;
    strcpy(s.subject.list.layer[1].name, "body");
    strcpy(s.subject.list.layer[2].name, "hands");
    s.mural.subject = &s.subject;
    for (int x = 10; x < 14; x++) s.subject.label[10 * WIDE + x] = x < 12 ? 1 : 2;
    s.subject.label[0] = 2;
    *steps(&s, 13, 9) = 1;
    lower(&s, 0, 0, 2, 0);
    lower(&s, 10, 10, 3, 2);
    lower(&s, 11, 10, 3, 2);
    lower(&s, 12, 10, 5, 4);
    lower(&s, 13, 10, 5, 2);
    lower(&s, 30, 20, 1, 2); /* raised: nothing is lost */
    lose(&s);
    const ReliefLosses *l = &s.losses;
    assert_int_equal(l->places, 3);
    assert_int_equal(l->layers, 2);
    const ReliefLoss *hands = &l->place[0], *corner = &l->place[1], *body = &l->place[2];
    assert_int_equal(hands->cells, 2);
    assert_int_equal(hands->steps, 4);
    assert_true(fabs(hands->mass_g - 1.2) < 1e-9);
    assert_int_equal(hands->column, 13);
    assert_int_equal(hands->asked, 5);
    assert_int_equal(hands->stands, 2);
    assert_int_equal(hands->below, 1);
    assert_false(hands->loose);
    assert_true(corner->loose); /* of two places of one mass the lower comes first */
    assert_int_equal(body->label, 1);
    assert_int_equal(l->layer[0].label, 2);
    assert_int_equal(l->layer[0].places, 2);
    assert_int_equal(l->layer[0].steps, 6);
    assert_true(fabs(l->layer[0].look - hands->look - corner->look) < 1e-9);
    char name[80];
    relief_loss_name(&s.mural, hands, name, sizeof name);
    assert_string_equal(name, "layer hands");
    scene_clear(&s);
}

/* A pillar whose top is lower than asked, and its twin out of reach of its shadow. */
static void twins_lose_alike_and_apart(void **state)
{
    (void)state;
    Scene one, two;
    scene_init(&one);
    scene_init(&two);
    lower(&one, 12, 15, 4, 2);
    lower(&two, 12, 15, 4, 2);
    lower(&two, 42, 15, 4, 2);
    lose(&one);
    *steps(&one, 42, 15) = 2;
    lose(&one);
    lose(&two);
    const double look = one.losses.place[0].look;
    assert_true(look > 1);
    assert_true(fabs(two.losses.place[0].look / look - 1) < 0.01);
    assert_true(fabs(two.losses.place[1].look / look - 1) < 0.01);
    two.job.distance *= 20; /* a pillar that the eye no longer parts from what is around it */
    lose(&two);
    assert_true(two.losses.place[0].look < look / 10);
    scene_clear(&one);
    scene_clear(&two);
}

/* Twice as much is lost in the shade of a tower as beside it, and less is seen of it. */
static void the_shade_hides_losses(void **state)
{
    (void)state;
    Scene s;
    scene_init(&s);
    for (int y = 3; y < 27; y++) *steps(&s, 20, y) = 12;
    lower(&s, 5, 15, 2, 1);
    lower(&s, 26, 15, 2, 1);
    lower(&s, 27, 15, 2, 1);
    lose(&s);
    const ReliefLoss *shaded = &s.losses.place[0], *lit = &s.losses.place[1];
    assert_int_equal(shaded->column, 26);
    assert_int_equal(shaded->by_mass, 1);
    assert_int_equal(lit->by_look, 1);
    if (!(shaded->look < lit->look)) fail_msg("%g in the shade, %g", shaded->look, lit->look);
    scene_clear(&s);
}

static void every_want_of_memory_is_told(void **state)
{
    (void)state;
    Scene s;
    scene_init(&s);
    lower(&s, 12, 15, 4, 2);
    s.mural.threads = 1;
    Status status = STATUS_NO_RESOURCE;
    for (long after = 0; status; after++) {
        Fault fault = {0};
        memory_fail_after(after);
        status = relief_losses_init(&s.losses, &s.mural, &fault);
        memory_fail_after(-1);
        if (status) assert_non_null(strstr(fault.text, "memory"));
        relief_losses_clear(&s.losses);
    }
    scene_clear(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(places_are_counted),
        cmocka_unit_test(twins_lose_alike_and_apart),
        cmocka_unit_test(the_shade_hides_losses),
        cmocka_unit_test(every_want_of_memory_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
