/* Inspection of photographs that the tests' own camera takes of a plan's panel, with faults planted
 * in it: what was planted is the answer. The picture is tests/data/pictures/coffee.png. The
 * whole, over thirty panels, is tests/bench/bench_inspect. */
#include "base/memory.h"
#include "inspect/inspect_panel.h"
#include "plan/plan.h"
#include "support/panel_scene.h"
#include "support/scratch.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>

#include <cmocka.h>

enum { COLUMNS = 24, ROWS = 32, BUILT = 29 }; /* of a panel */
#define SHEET "#8b8d7d"                       /* panel_sheet, as sRGB */

static char room[SCRATCH_MOST], folder[SCRATCH_MOST + 16], photo[SCRATCH_MOST + 16];
static EarlierPlan *plan;
static Job job;

static int make_plan(void **state)
{
    (void)state;
    Fault fault;
    if (!scratch_folder(room)) return -1;
    snprintf(folder, sizeof folder, "%s/plan", room);
    snprintf(photo, sizeof photo, "%s/photo.jpg", room);
    /* The cells are given, so that no change of what is searched for makes another face of them. */
    static const char *const set[][2] = {{"reference", "tests/data/pictures/coffee.png"},
                                         {"cells", "tests/data/pictures/coffee-cells.png"},
                                         {"columns", "48"},
                                         {"panel", "24x32"},
                                         {"book", "no"},
                                         {"quote", "no"}};
    job_init(&job);
    for (size_t i = 0; i < sizeof set / sizeof *set; i++)
        if (job_set(&job, setting_find(set[i][0]), set[i][1], set[i][0], NULL, &fault)) return -1;
    snprintf(job.out, sizeof job.out, "%s", folder);
    if (plan_run(&job, NULL, &fault) || plan_reader_create(&plan, folder, &fault)) {
        print_message("%s\n", fault.text);
        return -1;
    }
    *job.out = 0;
    return 0;
}

static int clear_plan(void **state)
{
    (void)state;
    plan_reader_free(plan);
    return scratch_clear(room);
}

static Camera hand_held(void)
{
    Camera camera = camera_default();
    camera.width = 800;
    camera.height = 600;
    camera.fill = 0.9;
    camera.tilt = 24;
    camera.toward = 200;
    camera.roll = 4;
    camera.light = LIGHT_A;
    camera.balance = 1.3;
    camera.exposure = 0.65;
    camera.vignetting = 0.3;
    camera.uneven = 0.3;
    camera.seed = 7;
    return camera;
}

/* Photographs a panel as JPEG; the scene is the caller's to clear. */
static void take(PanelScene *scene, int panel, int faults, int rows, Camera *camera)
{
    uint32_t seed = 11;
    Shot shot;
    *scene = (PanelScene){.plan = plan, .panel = &plan->panels.panel[panel], .rows = rows};
    panel_plant(scene, faults, &seed);
    assert_true(panel_scene_draw(scene));
    assert_true(camera_take(camera, &scene->scene, &shot));
    assert_true(shot_jpeg(&shot, photo, 80));
    shot_clear(&shot);
}

static InspectionAsk ask_for(const char *panel)
{
    return (InspectionAsk){
        .folder = folder, .photo = photo, .panel = panel, .job = &job, .threads = 2};
}

/* All that was planted is found, and nothing that was not. */
static void assert_told(const Inspection *i, const PanelScene *scene)
{
    int found = 0;
    for (const BrickVerdict *v = i->judgement.brick; v < i->judgement.brick + i->judgement.bricks;
         v++) {
        const Brick *b = &plan->laid.brick[v->brick];
        const bool off = v->verdict != VERDICT_RIGHT && v->verdict != VERDICT_UNKNOWN;
        const bool planted = panel_planted(scene, v->brick) != NULL;
        found += planted && off;
        if (off && !planted && panel_shows(scene, b))
            fail_msg("row %d, column %d is right", b->row + 1, b->column + 1);
        if (planted && !off) fail_msg("row %d, column %d is wrong", b->row + 1, b->column + 1);
    }
    assert_int_equal(found, scene->planted_count);
    assert_true(i->judgement.certain > 0.98);
    assert_true(i->judgement.count[VERDICT_UNKNOWN] <= i->judgement.bricks / 50);
}

static void test_planted_faults_are_found(void **state)
{
    (void)state;
    PanelScene scene;
    Camera camera = hand_held();
    take(&scene, 0, 9, ROWS, &camera);
    Inspection i;
    Fault fault;
    const InspectionAsk ask = ask_for("r1c1");
    assert_int_equal(inspection_look(&i, &ask, NULL, &fault), STATUS_OK);
    assert_told(&i, &scene);
    PlanePoint corner[4]; /* within a third of a cell of where the pinhole has them */
    pose_corners(&i.pose, &i.face, corner);
    for (int k = 0; k < 4; k++) {
        double u, v;
        camera_project(&camera, scene.margin + (k == 1 || k == 2 ? COLUMNS : 0),
                       scene.margin + (k < 2 ? ROWS : 0), &u, &v);
        assert_true(hypot(u - corner[k].x, v - corner[k].y) <
                    pose_cell_pixels(&i.pose, &i.face) / 3);
    }
    inspection_clear(&i);
    panel_scene_clear(&scene);
}

/* From farther off and squarely: here the first search takes rows for those two lower, where no
 * brick is right. */
static void test_found_where_rows_are_alike(void **state)
{
    (void)state;
    PanelScene scene;
    Camera camera = hand_held();
    camera.tilt = camera.toward = 0;
    camera.roll = -8;
    camera.fill = 0.55;
    camera.seed = 1;
    take(&scene, 0, 5, ROWS, &camera);
    Inspection i;
    Fault fault;
    const InspectionAsk ask = ask_for("r1c1");
    assert_int_equal(inspection_look(&i, &ask, NULL, &fault), STATUS_OK);
    assert_true(i.proof.likeness > 0.8);
    assert_true(10 * i.judgement.count[VERDICT_RIGHT] > 9 * i.judgement.bricks);
    for (const BrickVerdict *v = i.judgement.brick; v < i.judgement.brick + i.judgement.bricks; v++)
        if (v->verdict != VERDICT_RIGHT && v->verdict != VERDICT_UNKNOWN)
            assert_non_null(panel_planted(&scene, v->brick));
    inspection_clear(&i);
    panel_scene_clear(&scene);
}

/* To within a cell of where the pinhole has so many rows. */
static void give_corners(const Camera *camera, const PanelScene *scene, int rows,
                         PlanePoint corner[4])
{
    for (int k = 0; k < 4; k++)
        camera_project(camera, scene->margin + (k == 1 || k == 2 ? COLUMNS + 0.7 : -0.5),
                       scene->margin + (k < 2 ? rows + 0.4 : 0.3), &corner[k].x, &corner[k].y);
}

static void hear_note(void *self, const char *text)
{
    if (strstr(text, "--to")) snprintf(self, 200, "%s", text);
}

/* With corners given to within a cell, up to a row that stands, and the sheet's colour: what lacks
 * is told from what is wrong. Without that row it is said which it may be. */
static void test_half_a_panel(void **state)
{
    (void)state;
    PanelScene scene;
    PlanePoint corner[4];
    Camera camera = hand_held();
    Inspection i;
    Fault fault;
    take(&scene, 0, 5, BUILT, &camera);
    give_corners(&camera, &scene, BUILT, corner);
    InspectionAsk ask = ask_for("r1c1");
    ask.to = BUILT;
    ask.corner = corner;
    ask.sheet = SHEET;
    assert_int_equal(inspection_look(&i, &ask, NULL, &fault), STATUS_OK);
    assert_told(&i, &scene);
    for (const BrickVerdict *v = i.judgement.brick; v < i.judgement.brick + i.judgement.bricks;
         v++) {
        const Planted *planted = panel_planted(&scene, v->brick);
        if (planted && planted->kind == PLANTED_MISSING)
            assert_int_equal(v->verdict, VERDICT_MISSING);
    }
    inspection_clear(&i);
    char said[200] = "";
    const Voice voice = {.self = said, .note = hear_note};
    const InspectionEar deaf = {0};
    give_corners(&camera, &scene, ROWS, corner);
    ask = ask_for("r1c1");
    ask.corner = corner;
    assert_int_equal(inspect_panel(&ask, &voice, &deaf, &fault), STATUS_UNHELD);
    const char *row = strstr(said, "--to ");
    assert_non_null(row);
    assert_true(abs(atoi(row + 5) - BUILT) <= 1);
    panel_scene_clear(&scene);
}

static void assert_refused(const InspectionAsk *ask, Status status, const char *why)
{
    Inspection i;
    Fault fault = {0};
    assert_int_equal(inspection_look(&i, ask, NULL, &fault), status);
    if (!strstr(fault.text, why)) fail_msg("%s", fault.text);
    inspection_clear(&i);
}

/* To look for all that a photograph may show takes long, so these are where they are said to be;
 * tests/bench/bench_inspect has them found. */
static void test_nonsense_is_refused(void **state)
{
    (void)state;
    PanelScene scene;
    PlanePoint corner[4];
    Camera camera = hand_held();
    camera.width = 640;
    camera.height = 480;
    take(&scene, 1, 0, ROWS, &camera);
    give_corners(&camera, &scene, ROWS, corner);
    panel_scene_clear(&scene);
    InspectionAsk ask = ask_for("r1c1");
    ask.corner = corner;
    assert_refused(&ask, STATUS_DATA, "shows panel r1c2, not r1c1");
    ask.photo = "tests/data/pictures/astronaut.png";
    assert_refused(&ask, STATUS_DATA, "panel r1c1 is not seen in it");
    camera.roll += 180;
    take(&scene, 0, 0, ROWS, &camera);
    PlanePoint turned[4];
    give_corners(&camera, &scene, ROWS, turned);
    for (int k = 0; k < 4; k++) corner[k] = turned[(k + 2) % 4];
    ask.photo = photo;
    assert_refused(&ask, STATUS_DATA, "is upside down");
    panel_scene_clear(&scene);
}

static void test_asked_for_nothing_that_is(void **state)
{
    (void)state;
    InspectionAsk ask = ask_for("r9c9");
    assert_refused(&ask, STATUS_USAGE, "no panel of this name");
    ask = ask_for("r1c1");
    ask.to = ROWS + 1;
    assert_refused(&ask, STATUS_USAGE, "row 33 is not of panel r1c1");
    ask.to = 0;
    const PlanePoint crossed[4] = {{10, 10}, {400, 400}, {400, 10}, {10, 400}};
    ask.corner = crossed;
    assert_refused(&ask, STATUS_USAGE, "--corners");
    ask.sheet = "moon";
    assert_refused(&ask, STATUS_USAGE, "--sheet: 'moon'");
    ask.sheet = NULL;
    ask.photo = "tests/data/none.jpg";
    assert_refused(&ask, STATUS_NO_INPUT, "none.jpg");
    ask.folder = "tests";
    assert_refused(&ask, STATUS_NO_INPUT, "plan.json");
}

/* A face of which next to nothing is right was placed wrongly: by counts on either side. */
static void test_none_right(void **state)
{
    (void)state;
    Judgement j = {.bricks = 100};
    for (int right = 0; right < 100; right += 1 + right / 5) {
        j.count[VERDICT_RIGHT] = (size_t)right;
        assert_int_equal(judgement_holds(&j), right >= 5);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_none_right),
        cmocka_unit_test(test_planted_faults_are_found),
        cmocka_unit_test(test_found_where_rows_are_alike),
        cmocka_unit_test(test_half_a_panel),
        cmocka_unit_test(test_nonsense_is_refused),
        cmocka_unit_test(test_asked_for_nothing_that_is),
    };
    return cmocka_run_group_tests(tests, make_plan, clear_plan);
}
