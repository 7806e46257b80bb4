/* Unrest against a plain recount, and against two published judges (support/judges.h). */
#include "eye/unrest.h"

#include "colour/delta_e.h"
#include "support/faces.h"
#include "support/judges.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

static const char *const files[2] = {"tests/data/pictures/astronaut.png",
                                     "tests/data/pictures/coffee.png"};

static double pair_plainly(const Image *picture, const Image *face, const int one[2],
                           const int other[2])
{
    double d[2];
    for (int i = 0; i < 2; i++) {
        const Image *m = i ? face : picture;
        d[i] = delta_e_2000(lab_from_xyz(image_at(m, one[0], one[1])),
                            lab_from_xyz(image_at(m, other[0], other[1])));
    }
    return fmax(0.0, d[1] - d[0]);
}

/* Cell by cell, of faces that no eye blurs. */
static double unrest_plainly(const Image *picture, const Image *face, int k)
{
    double sum = 0.0, pairs = 0.0;
    for (int row = 0; row < face->rows; row++)
        for (int column = 0; column < face->columns; column++)
            for (int up = 0; up < 2; up++) {
                const int one[2] = {column, row};
                const int other[2] = {column + (up ? 0 : k), row + (up ? k : 0)};
                if (other[0] >= face->columns || other[1] >= face->rows) continue;
                sum += pair_plainly(picture, face, one, other);
                pairs += 1.0;
            }
    return pairs > 0.0 ? sum / pairs : 0.0;
}

static Image nearest_face(const Image *picture, const Palette *palette)
{
    Grid grid;
    Image face;
    if (grid_init(&grid, picture->columns, picture->rows, false, NULL)) abort();
    plain_nearest(picture, palette, &grid);
    if (eye_face(palette, &grid, &face, NULL)) abort();
    grid_clear(&grid);
    return face;
}

/* So near that each cell fills the sight, it is the plain count; on shapes of one cell, one row,
 * one column, and with more rows than are worked on at once. Any number of threads, same bits. */
static void test_plain_count(void **state)
{
    (void)state;
    static const int size[5][2] = {{1, 1}, {19, 1}, {1, 9}, {40, 31}, {23, 70}};
    Palette *palette = calloc(1, sizeof *palette);
    palette_of_patches(palette);
    for (int n = 0; n < 5; n++) {
        Image picture;
        if (!picture_read(files[n % 2], size[n][0], size[n][1], &picture)) abort();
        Image face = nearest_face(&picture, palette);
        EyeOptions options = {.viewpoint = {8.0, 9.6, 0.0}, .threads = 1};
        double got[UNREST_CELLS], again[UNREST_CELLS];
        assert_int_equal(unrest_compare(&picture, &face, &options, got, NULL), STATUS_OK);
        for (int k = 1; k <= UNREST_CELLS; k++)
            assert_true(fabs(got[k - 1] - unrest_plainly(&picture, &face, k)) < 2e-3);
        options.threads = 3;
        assert_int_equal(unrest_compare(&picture, &face, &options, again, NULL), STATUS_OK);
        assert_memory_equal(got, again, sizeof got);
        assert_int_equal(unrest_compare(&picture, &picture, &options, got, NULL), STATUS_OK);
        for (int k = 0; k < UNREST_CELLS; k++) assert_true(got[k] == 0.0);
        image_clear(&picture);
        image_clear(&face);
    }
    free(palette);
}

/* Stripes two cells wide are unseen by pairs four apart and seen at the others; from far off
 * nothing is left of them. */
static void test_stripes(void **state)
{
    (void)state;
    enum { SIDE = 64 };
    Image picture, face;
    if (image_init(&picture, SIDE, SIDE, NULL) || image_init(&face, SIDE, SIDE, NULL)) abort();
    for (int i = 0; i < SIDE * SIDE; i++) {
        const Xyz even = xyz_from_lab((Lab){60, 0, 0});
        const Xyz stripe = xyz_from_lab((Lab){i / 2 % 2 ? 50 : 70, 0, 0});
        const float grey[3] = {(float)even.x, (float)even.y, (float)even.z};
        const float striped[3] = {(float)stripe.x, (float)stripe.y, (float)stripe.z};
        memcpy(picture.xyz + 3 * i, grey, sizeof grey);
        memcpy(face.xyz + 3 * i, striped, sizeof striped);
    }
    EyeOptions options = {.viewpoint = {8.0, 8.0, 3000.0}, .threads = 1};
    double near[UNREST_CELLS], far[UNREST_CELLS];
    assert_int_equal(unrest_compare(&picture, &face, &options, near, NULL), STATUS_OK);
    assert_true(near[3] < 0.02 * near[1] && near[1] > 4.0 && near[0] > 2.0 && near[2] > 2.0);
    options.viewpoint.distance_mm = 60000.0;
    assert_int_equal(unrest_compare(&picture, &face, &options, far, NULL), STATUS_OK);
    for (int k = 0; k < UNREST_CELLS; k++) assert_true(far[k] < 0.02 * near[1]);
    image_clear(&picture);
    image_clear(&face);
}

/* The picture, and each cell of it off by a share of the way to that of some cell nearby: the more
 * so, the more unrest, and both judges say the same. */
static void test_judges_agree(void **state)
{
    (void)state;
    for (int n = 0; n < 2; n++) {
        Image picture, face;
        const Viewpoint view = {8.0, 8.0, 5000.0};
        const EyeOptions options = {.viewpoint = view, .threads = 1};
        if (!picture_read(files[n], 72, 72, &picture)) abort();
        if (image_init(&face, 72, 72, NULL)) abort();
        double last[3] = {0};
        for (int step = 1; step <= 3; step++) {
            uint64_t seed = 11;
            for (int i = 0; i < 72 * 72; i++) {
                const Lab lab = lab_from_xyz(image_at(&picture, i % 72, i / 72));
                const double size = 5.0 * step;
                const Lab off = {lab.L + draw_between(&seed, -size, size),
                                 lab.a + draw_between(&seed, -size, size),
                                 lab.b + draw_between(&seed, -size, size)};
                const Xyz c = xyz_from_lab(off);
                const float xyz[3] = {(float)c.x, (float)c.y, (float)c.z};
                memcpy(face.xyz + 3 * i, xyz, sizeof xyz);
            }
            double unrest[UNREST_CELLS];
            assert_int_equal(unrest_compare(&picture, &face, &options, unrest, NULL), STATUS_OK);
            const double now[3] = {unrest[0] + unrest[1] + unrest[2] + unrest[3],
                                   judge_flip(&picture, &face, view),
                                   1.0 - judge_ssim(&picture, &face, view)};
            for (int i = 0; i < 3; i++) assert_true(now[i] > last[i]);
            memcpy(last, now, sizeof last);
        }
        image_clear(&picture);
        image_clear(&face);
    }
}

/* The judges themselves: nothing is off where nothing differs; white on black is 1 to FLIP. */
static void test_judges(void **state)
{
    (void)state;
    Image picture, white, black;
    const Viewpoint view = {8.0, 8.0, 5000.0};
    if (!picture_read(files[0], 24, 24, &picture)) abort();
    if (image_init(&white, 24, 24, NULL) || image_init(&black, 24, 24, NULL)) abort();
    for (int i = 0; i < 3 * 24 * 24; i++)
        white.xyz[i] = (float)(const double[3]){0.9642, 1.0, 0.8249}[i % 3];
    assert_true(judge_flip(&picture, &picture, view) < 1e-9);
    assert_true(judge_ssim(&picture, &picture, view) > 1.0 - 1e-9);
    /* HyAB of black and white is 100: 25.1 by the power of 0.7, of 41.3 at most. */
    assert_true(fabs(judge_flip(&black, &white, view) - 0.97) < 0.02);
    image_clear(&picture);
    image_clear(&white);
    image_clear(&black);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_plain_count),
        cmocka_unit_test(test_stripes),
        cmocka_unit_test(test_judges_agree),
        cmocka_unit_test(test_judges),
    };
    return cmocka_run_group_tests_name("unrest", tests, NULL, NULL);
}
