/* The tests' own camera, before anything is measured with it: lights against the chromaticities
 * that CIE 15:2018 publishes, surfaces against the colour asked for, the picture against where the
 * pinhole puts a point. */
#include "support/camera.h"
#include "support/scratch.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#define assert_near(got, want, tolerance)                                                          \
    assert_float_equal((float)(got), (float)(want), (float)(tolerance))

/* CIE 15:2018, table 11.3 (from memory); 10 nm and 400 to 700 nm are coarser than the standard's
 * 5 nm from 380 to 780. */
static void test_lights(void **state)
{
    (void)state;
    static const struct {
        CameraLight light;
        double x, y;
    } known[] = {
        {LIGHT_D50, 0.34567, 0.35850}, {LIGHT_D65, 0.31272, 0.32903}, {LIGHT_A, 0.44757, 0.40745}};
    for (size_t k = 0; k < 3; k++) {
        double sum[3] = {0, 0, 0};
        for (int i = 0; i < WAVES; i++)
            for (int c = 0; c < 3; c++)
                sum[c] += camera_light(known[k].light, i) * camera_observer[i][c];
        const double whole = sum[0] + sum[1] + sum[2];
        assert_near(sum[0] / whole, known[k].x, 5e-4);
        assert_near(sum[1] / whole, known[k].y, 5e-4);
    }
}

static void test_surfaces_have_the_colour_asked_for(void **state)
{
    (void)state;
    static const double asked[][3] = {{96, 0, 0},    {10, 0, 0},   {50, 0, 0},
                                      {42, 55, 30},  {75, -5, 65}, {35, 10, -45},
                                      {50, -45, 20}, {85, 0, -10}, {25, 5, 5}};
    for (size_t k = 0; k < sizeof asked / sizeof *asked; k++) {
        const Surface s = surface_of_lab(asked[k][0], asked[k][1], asked[k][2]);
        double lab[3];
        surface_lab(&s, lab);
        for (int c = 0; c < 3; c++) assert_near(lab[c], asked[k][c], 0.01);
        for (int i = 0; i < WAVES; i++) assert_true(s.reflectance[i] > 0 && s.reflectance[i] < 1);
    }
}

/* A white square on black, from 30 degrees: its corner pixels, and what they cut. */
static void test_a_square_lies_where_it_is_seen(void **state)
{
    (void)state;
    Scene scene;
    assert_true(scene_init(&scene, 10, 10, 40));
    const int black = scene_add(&scene, surface_of_lab(5, 0, 0));
    const int white = scene_add(&scene, surface_of_lab(96, 0, 0));
    scene_rectangle(&scene, 0, 0, 10, 10, black);
    scene_rectangle(&scene, 2, 3, 7, 8, white);
    Camera camera = camera_default();
    camera.width = 400;
    camera.height = 300;
    camera.tilt = 30;
    camera.toward = 20;
    camera.roll = 8;
    Shot shot;
    assert_true(camera_take(&camera, &scene, &shot));
    double inside = 0, outside = 0;
    for (int side = 0; side < 2; side++)
        for (int i = 0; i < 20; i++) {
            double u, v;
            const double at = 3.3 + 4.4 * i / 20;
            camera_project(&camera, side ? 2.3 : 1.7, at, &u, &v);
            *(side ? &inside : &outside) +=
                (double)shot.light[3 * ((size_t)v * 400 + (size_t)u) + 1] / 20;
        }
    assert_true(inside > 0.55 && outside < 0.15);
    double nearer[2], farther[2], end[2]; /* the side that the camera stands on is longer */
    camera_project(&camera, 10, 0, &nearer[0], &nearer[1]);
    camera_project(&camera, 10, 10, &end[0], &end[1]);
    const double right = hypot(nearer[0] - end[0], nearer[1] - end[1]);
    camera_project(&camera, 0, 0, &farther[0], &farther[1]);
    camera_project(&camera, 0, 10, &end[0], &end[1]);
    assert_true(right > 1.05 * hypot(farther[0] - end[0], farther[1] - end[1]));
    shot_clear(&shot);
    scene_clear(&scene);
}

/* Right balance makes grey grey in every light; a wrong one by as much as asked. */
static void test_balance(void **state)
{
    (void)state;
    Scene scene;
    assert_true(scene_init(&scene, 1, 1, 8));
    scene_rectangle(&scene, 0, 0, 1, 1, scene_add(&scene, camera_paper()));
    for (int light = 0; light < CAMERA_LIGHTS; light++)
        for (int wrong = 0; wrong < 2; wrong++) {
            Camera camera = camera_default();
            camera.width = camera.height = 16;
            camera.light = (CameraLight)light;
            camera.photons = camera.blur = 0;
            camera.exposure = 0.5;
            camera.balance = wrong ? 1.3 : 1;
            Shot shot;
            assert_true(camera_take(&camera, &scene, &shot));
            const float *p = shot.light + 3 * (8 * 16 + 8);
            if (wrong)
                assert_true(p[0] > 1.25f * p[1] && p[2] < 0.85f * p[1]);
            else
                for (int k = 0; k < 3; k++) assert_near((double)p[k], 0.5, 1e-3);
            shot_clear(&shot);
        }
    scene_clear(&scene);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lights),
        cmocka_unit_test(test_surfaces_have_the_colour_asked_for),
        cmocka_unit_test(test_a_square_lies_where_it_is_seen),
        cmocka_unit_test(test_balance),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
