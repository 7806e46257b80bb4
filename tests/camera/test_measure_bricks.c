/* Bricks measured in photographs that the tests' own camera renders, against the Lab that their
 * spectra have by the CIE's observer (support/camera.h); and what is refused. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "support/bricks_shot.h"
#include "support/chart_drawn.h"
#include "support/scratch.h"

#include "camera/measure_bricks.h"
#include "colour/delta_e.h"

#include <math.h>

static char folder[SCRATCH_MOST];
static BricksShot table[2]; /* by ShotGround */

static int begin(void **state)
{
    (void)state;
    const bool room = scratch_folder(folder) && bricks_shot_init(&table[0], GROUND_WOOD, 0.08) &&
                      bricks_shot_init(&table[1], GROUND_PAPER, 0.08);
    return room ? 0 : -1;
}

static int end(void **state)
{
    (void)state;
    for (int i = 0; i < 2; i++) scene_clear(&table[i].scene);
    return scratch_clear(folder);
}

static const char *in_folder(const char *name)
{
    static char paths[8][SCRATCH_MOST + 40];
    static int turn;
    char *path = paths[turn++ % 8];
    snprintf(path, sizeof paths[0], "%s/%s", folder, name);
    return path;
}

typedef struct Heard {
    char text[8000];
} Heard;

static void hear(void *self, const char *text)
{
    Heard *heard = self;
    const size_t length = strlen(heard->text);
    snprintf(heard->text + length, sizeof heard->text - length, "%s\n", text);
}

static void write_text(const char *path, const char *text)
{
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fputs(text, file);
    fclose(file);
}

/* Renders, lists the bricks, and makes the job for it. */
static void shoot(Camera *camera, ShotGround on, Job *job)
{
    Shot shot;
    PlanePoint q[4];
    assert_true(camera_take(camera, &table[on].scene, &shot));
    assert_true(shot_jpeg(&shot, in_folder("bricks.jpg"), 80));
    shot_clear(&shot);
    assert_true(shot_patches(&table[on], camera, on == GROUND_PAPER, in_folder("bricks.csv")));
    shot_chart(camera, q);
    job_init(job);
    job->memory = 500;
    snprintf(job->patches, sizeof job->patches, "%s", in_folder("bricks.csv"));
    snprintf(job->out, sizeof job->out, "%s", in_folder("bricks.cgats"));
    snprintf(job->chart, sizeof job->chart, "%.0f,%.0f,%.0f,%.0f %.0f %.0f %.0f,%.0f", q[0].x,
             q[0].y, q[1].x, q[1].y, q[2].x, q[2].y, q[3].x, q[3].y);
}

static Status measure(const Job *job, Heard *heard, Fault *fault)
{
    const char *photo[1] = {in_folder("bricks.jpg")};
    const Voice voice = {.self = heard, .note = hear};
    *heard = (Heard){{0}};
    *fault = (Fault){0};
    unlink(job->out);
    return measure_run(job, photo, 1, &voice, fault);
}

typedef struct Errors {
    double mean, worst;
    int within; /* what the file says of nine of ten */
} Errors;

static Errors errors_of(const Job *job, const BricksShot *shot)
{
    static Palette got;
    Errors errors = {0, 0, 0};
    assert_int_equal(palette_read(&got, job->out, NULL, NULL), 0);
    assert_int_equal(got.count, BRICKS_SHOT);
    for (int i = 0; i < BRICKS_SHOT; i++) {
        const double error = delta_e_2000(got.colour[i].lab, shot->truth[i]);
        assert_string_equal(got.colour[i].id, shot->palette.colour[i].id);
        errors.mean += error / BRICKS_SHOT;
        errors.worst = fmax(errors.worst, error);
        errors.within += error <= PALETTE_WITHIN * got.colour[i].stdev_de;
    }
    return errors;
}

/* Four lights, up to 35 degrees, white balance wrong by 30 %, a phone's noise, JPEG 80. Of the
 * lamps, two where vivid yellows have no blue, and where greys are rounded alike. */
static void test_measures(void **state)
{
    (void)state;
    static const struct {
        ShotGround on;
        CameraLight light;
        double tilt, toward, roll, balance, tone;
        bool found; /* by itself */
    } shots[] = {{GROUND_WOOD, LIGHT_D65, 17, 60, 2, 1.3, 0, true},
                 {GROUND_WOOD, LIGHT_A, 5, 250, 178, 1, 0, true},
                 {GROUND_PAPER, LIGHT_LED, 35, 120, -3, 0.77, 0, true},
                 {GROUND_PAPER, LIGHT_LED, 5, 70, 2, 1.3, 0, true},
                 {GROUND_WOOD, LIGHT_LED, 5, 10, 2, 1, 0, false},
                 {GROUND_PAPER, LIGHT_D50, 20, 10, 2, 1, 0.4, false}};
    const int count = (int)(sizeof shots / sizeof *shots);
    int within = 0;
    for (int i = 0; i < count; i++) {
        Camera camera = bricks_camera();
        Job job;
        Heard heard;
        Fault fault;
        camera.light = shots[i].light;
        camera.tilt = shots[i].tilt;
        camera.toward = shots[i].toward;
        camera.roll = shots[i].roll;
        camera.balance = shots[i].balance;
        camera.tone = shots[i].tone;
        camera.exposure = 0.55;
        shoot(&camera, shots[i].on, &job);
        if (shots[i].found) *job.chart = 0;
        if (measure(&job, &heard, &fault)) fail_msg("shot %d: %s", i, fault.text);
        const Errors e = errors_of(&job, &table[shots[i].on]);
        within += e.within;
        if (!(e.mean <= 1.5 && e.worst <= 3.5))
            fail_msg("shot %d: mean %.2f, worst %.2f", i, e.mean, e.worst);
    }
    if (within < 0.9 * count * BRICKS_SHOT)
        fail_msg("%d of %d are within what is told of nine of ten", within, count * BRICKS_SHOT);
}

/* A smaller photograph, for what is refused. */
static Camera small_camera(void)
{
    Camera camera = bricks_camera();
    camera.width = 800;
    camera.height = 600;
    return camera;
}

/* Two photographs of one list on the chart's plane; a photograph of white paper; a patch of the
 * chart as a grey card, which is coarser, and says so. */
static void test_other_ways(void **state)
{
    (void)state;
    static BricksShot paper;
    Job job;
    Heard heard;
    Fault fault;
    Shot shot;
    Camera camera = small_camera();
    camera.uneven = 0.3;
    camera.exposure = 0.6;
    shoot(&camera, GROUND_WOOD, &job);
    *job.chart = 0;
    assert_true(scene_init(&paper.scene, 13, 9, 20));
    scene_rectangle(&paper.scene, 0, 0, 13, 9, scene_add(&paper.scene, surface_of_lab(93, 0, -2)));
    assert_true(camera_take(&camera, &paper.scene, &shot));
    assert_true(shot_jpeg(&shot, in_folder("paper.jpg"), 90));
    shot_clear(&shot);
    scene_clear(&paper.scene);
    snprintf(job.white, sizeof job.white, "%s", in_folder("paper.jpg"));
    assert_int_equal(measure(&job, &heard, &fault), 0);
    Errors e = errors_of(&job, &table[0]);
    if (!(e.mean <= 1.5 && e.worst <= 3.5)) fail_msg("white: %.2f, %.2f", e.mean, e.worst);
    PlanePoint q[4];
    Job card = job;
    for (int k = 0; k < 4; k++)
        q[k] = shot_point(&camera, CHART_LEFT + 3.5 + (k % 3 ? 0.38 : -0.38),
                          CHART_TOP - 3.5 + (k < 2 ? 0.38 : -0.38));
    card.grey = 50.76;
    snprintf(card.chart, sizeof card.chart, "%.1f,%.1f,%.1f,%.1f,%.1f,%.1f,%.1f,%.1f", q[0].x,
             q[0].y, q[1].x, q[1].y, q[2].x, q[2].y, q[3].x, q[3].y);
    assert_int_equal(measure(&card, &heard, &fault), 0);
    e = errors_of(&card, &table[0]);
    assert_non_null(strstr(heard.text, "coarse"));
    if (!(e.mean <= 5 && e.within >= 0.9 * BRICKS_SHOT)) fail_msg("grey: %.2f", e.mean);
    *job.white = 0;
    const char *photos[2] = {in_folder("one.jpg"), in_folder("bricks.jpg")};
    assert_int_equal(rename(photos[1], photos[0]), 0);
    camera.tilt = 25;
    camera.toward = 200;
    shoot(&camera, GROUND_WOOD, &card);
    FILE *file = fopen(job.patches, "w");
    assert_non_null(file);
    fputs("id,on,x,y,width,height\n", file);
    for (int i = 0; i < BRICKS_SHOT; i++)
        fprintf(file, "%s,chart,%.2f,%.2f,0.8,0.8\n", table[0].palette.colour[i].id,
                table[0].place[i][0] - CHART_LEFT - 0.9, CHART_TOP - 0.9 - table[0].place[i][1]);
    fclose(file);
    assert_int_equal(measure_run(&job, photos, 2, NULL, &fault), 0);
    e = errors_of(&job, &table[0]);
    if (!(e.mean <= 1.5 && e.worst <= 3.5)) fail_msg("two: %.2f, %.2f", e.mean, e.worst);
}

static void refuse(const Job *job, Status status, const char *words)
{
    Heard heard;
    Fault fault;
    assert_int_equal(measure(job, &heard, &fault), status);
    if (!strstr(fault.text, words)) fail_msg("'%s' does not hold '%s'", fault.text, words);
    assert_int_not_equal(access(job->out, F_OK), 0);
}

static void test_refuses_photographs(void **state)
{
    (void)state;
    Job job;
    Camera camera = small_camera();
    camera.exposure = 1.3;
    shoot(&camera, GROUND_PAPER, &job);
    refuse(&job, STATUS_DATA, "clipped");
    camera = small_camera();
    camera.mixed = 0.4;
    camera.other = LIGHT_A;
    shoot(&camera, GROUND_PAPER, &job);
    refuse(&job, STATUS_DATA, "the light changes its colour");
    camera = small_camera();
    camera.glares = 1;
    camera.glare[0] = (Glare){CHART_LEFT + 3.5, CHART_TOP - 3.5, 0.12, 0.5};
    shoot(&camera, GROUND_WOOD, &job);
    refuse(&job, STATUS_DATA, "the chart's patch");
}

/* Bricks in rows, a chart whose patches are in another order, three pixels: no chart is found where
 * none is. */
static void test_finds_no_other_chart(void **state)
{
    (void)state;
    Job job;
    Camera camera = small_camera();
    static BricksShot bare;
    assert_true(bricks_shot_init(&bare, GROUND_WOOD, 0));
    for (int i = 0; i < CHART_SHOT; i++)
        lay_square(&bare.scene, CHART_LEFT + i % 6 + 0.5, CHART_TOP - i / 6 - 0.5, PATCH_SHOT,
                   1 + (i * 7 + 5) % CHART_SHOT);
    Shot shot;
    shoot(&camera, GROUND_WOOD, &job);
    *job.chart = 0;
    assert_true(camera_take(&camera, &bare.scene, &shot));
    assert_true(shot_jpeg(&shot, in_folder("bricks.jpg"), 80));
    shot_clear(&shot);
    scene_clear(&bare.scene);
    refuse(&job, STATUS_DATA, "no chart");
    write_text(in_folder("bricks.jpg"), "P6 3 3 255\nabcdefghijklmnopqrstuvwxyza");
    refuse(&job, STATUS_DATA, "no chart");
}

/* A brick that shines is said and left out; its colour has no other. */
static void test_refuses_a_brick(void **state)
{
    (void)state;
    Job job;
    Camera camera = small_camera();
    camera.glares = 1;
    camera.glare[0] = (Glare){table[0].place[7][0] + 0.1, table[0].place[7][1], 0.12, 0.5};
    shoot(&camera, GROUND_WOOD, &job);
    refuse(&job, STATUS_DATA, "R2m could not be measured");
}

/* Measured colours come in the place of those with their ids, and keep the names that these have;
 * others stay as they are. */
static void test_puts_into_a_palette(void **state)
{
    (void)state;
    static Palette got;
    Job job;
    Fault fault;
    const char *photo[1] = {in_folder("drawn.ppm")};
    assert_true(chart_drawn(photo[0]));
    write_text(in_folder("drawn.csv"), DRAWN_BRICKS);
    write_text(in_folder("palette.csv"), "id,name,L,a,b\nZ,grey,40,1,2\nB,old green,50,0,0\n");
    job_init(&job);
    snprintf(job.patches, sizeof job.patches, "%s", in_folder("drawn.csv"));
    snprintf(job.into, sizeof job.into, "%s", in_folder("palette.csv"));
    snprintf(job.out, sizeof job.out, "%s", in_folder("drawn.cgats"));
    assert_int_equal(measure_run(&job, photo, 1, NULL, &fault), STATUS_OK);
    assert_int_equal(palette_read(&got, job.out, NULL, &fault), STATUS_OK);
    assert_int_equal(got.count, 3);
    assert_string_equal(got.colour[0].id, "Z");
    assert_true(got.colour[0].lab.L == 40 && got.colour[0].stdev_de == 0);
    assert_string_equal(got.colour[1].name, "old green");
    assert_true(got.colour[1].stdev_de > 0);
    for (int i = 0; i < 2; i++)
        assert_true(delta_e_2000(got.colour[2 - i].lab, lab_from_srgb8(drawn_bricks[i])) < 1);
}

static void test_refuses_slips(void **state)
{
    (void)state;
    static const struct {
        const char *chart;
        Status status;
        const char *words;
    } bad[] = {{"1,2,3", STATUS_USAGE, "not four corners"},
               {"10,10,20,20,30,30,40,40", STATUS_DATA, "make no quadrilateral"},
               {"-500,10,900,10,900,400,10,400", STATUS_DATA, "is not in the photograph"},
               {"400,300,406,300,406,304,400,304", STATUS_DATA, "too small"},
               {"50,50,750,60,740,550,60,560", STATUS_DATA, ""},
               {"1,1,2,1,2,2,1,2;1,1,2,1,2,2,1,2", STATUS_USAGE, "corners for 2 photographs"}};
    static const struct {
        const char *list, *words;
    } lists[] = {{"id,name\nA,b\n", "no place that is whole"},
                 {"x,y,width,height\n1,2,3,4\n", "no column id"},
                 {"id,x,y,width,height\nA,10,10,0,5\n", "the rectangle is empty"},
                 {"id,x,y,width,height\nA,10,10,5,\n", "not whole"},
                 {"id,x,y,width,height\nABCDE,10,10,5,5\n", "give 1 to 4"},
                 {"id,x,y,width,height,on\nA,10,10,5,5,moon\n", "no plane"},
                 {"id,x,y,width,height,photo\nA,10,10,5,5,two.jpg\n", "none of the photographs"},
                 {"id,x,y,width,height\npaper,10,10,5,5\n", "no brick is listed"},
                 {"id,x,y,width,height\nA,1e5,10,50,50\n", "is not in the photograph"},
                 {"id,x1,y1,x2,y2,x3,y3,x4,y4\nA,0,0,90,0,0,90,90,90\n", "no quadrilateral"}};
    Job job, given;
    Camera camera = small_camera();
    shoot(&camera, GROUND_WOOD, &given);
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        job = given;
        snprintf(job.chart, sizeof job.chart, "%s", bad[i].chart);
        refuse(&job, bad[i].status, bad[i].words);
    }
    for (size_t i = 0; i < sizeof lists / sizeof *lists; i++) {
        write_text(in_folder("bricks.csv"), lists[i].list);
        refuse(&given, STATUS_DATA, lists[i].words);
    }
    write_text(in_folder("bricks.csv"), "id,x,y,width,height\nA,0,0,1,1\n");
    write_text(in_folder("bricks.jpg"), "P6 1 1 255\nabc");
    refuse(&given, STATUS_DATA, "bricks.jpg");
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_measures),
                                       cmocka_unit_test(test_other_ways),
                                       cmocka_unit_test(test_refuses_photographs),
                                       cmocka_unit_test(test_finds_no_other_chart),
                                       cmocka_unit_test(test_refuses_a_brick),
                                       cmocka_unit_test(test_puts_into_a_palette),
                                       cmocka_unit_test(test_refuses_slips)};
    return cmocka_run_group_tests(tests, begin, end);
}
