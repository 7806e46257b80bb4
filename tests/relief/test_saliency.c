/* What stands out of a picture painted by formula: a portrait before a pale sky. */
#include "relief/saliency.h"

#include "base/memory.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

enum { COLUMNS = 90, ROWS = 120, CELLS = COLUMNS * ROWS };

static void paint(Image *image, int column, int row, Lab lab)
{
    const Xyz c = xyz_from_lab(lab);
    float *to = image->xyz + 3 * (row * COLUMNS + column);
    to[0] = (float)c.x, to[1] = (float)c.y, to[2] = (float)c.z;
}

static bool within(int column, int row, double x, double y, double across, double up)
{
    return hypot((column - x) / across, (row - y) / up) < 1;
}

/* Sky above, a lit field below; hair about a face in the middle. */
static void portrait_start(Image *image)
{
    if (image_init(image, COLUMNS, ROWS, NULL)) abort();
    for (int row = 0; row < ROWS; row++)
        for (int column = 0; column < COLUMNS; column++)
            paint(image, column, row,
                  within(column, row, 45, 62, 10, 14)   ? (Lab){72, 15, 22}
                  : within(column, row, 45, 66, 18, 22) ? (Lab){14, 2, 3}
                  : row >= 40                           ? (Lab){90, -2, -5}
                                                        : (Lab){70, -10, 25});
}

static double mean_of(const float *depth, int left, int right, int low, int high)
{
    double sum = 0;
    for (int row = low; row < high; row++)
        for (int column = left; column < right; column++)
            sum += (double)depth[row * COLUMNS + column];
    return sum / ((right - left) * (high - low));
}

/* Lightness alone would put the sky in front and the hair behind all else. */
static void a_face_and_its_hair_stand_before_a_pale_sky(void **state)
{
    (void)state;
    Image image;
    static float depth[CELLS];
    portrait_start(&image);
    for (int dark = 0; dark < 2; dark++) {
        assert_int_equal(saliency_depth(&image, dark, depth, NULL, NULL), 0);
        const double sky = mean_of(depth, 0, COLUMNS, 100, ROWS);
        const double field = mean_of(depth, 0, COLUMNS, 0, 30);
        const double hair = mean_of(depth, 38, 52, 80, 86), face = mean_of(depth, 40, 50, 56, 68);
        assert_true(sky < 0.05 && field < 0.05);
        assert_true(hair > 0.4 && face > 0.25);
        for (int i = 0; i < CELLS; i++) assert_true(depth[i] >= 0 && depth[i] <= 1);
    }
    image_clear(&image);
}

static void an_even_picture_raises_nothing(void **state)
{
    (void)state;
    Image image;
    static float depth[CELLS];
    if (image_init(&image, COLUMNS, ROWS, NULL)) abort();
    for (int i = 0; i < CELLS; i++)
        paint(&image, i % COLUMNS, i / COLUMNS, (Lab){60.3, 10.1, 20.7});
    assert_int_equal(saliency_depth(&image, false, depth, NULL, NULL), 0);
    for (int i = 0; i < CELLS; i++) assert_true(!(depth[i] > 0));
    image_clear(&image);
}

static void without_memory(void **state)
{
    (void)state;
    Image image;
    static float depth[CELLS];
    portrait_start(&image);
    Fault fault;
    memory_fail_after(0);
    assert_int_equal(saliency_depth(&image, false, depth, NULL, &fault), STATUS_NO_RESOURCE);
    memory_fail_after(-1);
    image_clear(&image);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_face_and_its_hair_stand_before_a_pale_sky),
        cmocka_unit_test(an_even_picture_raises_nothing),
        cmocka_unit_test(without_memory),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
