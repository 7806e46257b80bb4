/* The picture under a raking light: the horizon against small steps along the line, the
 * length of a shadow against the lamp's tangent, and whom the lamp reaches. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "output/relief_render.h"
#include "support/mural_fixture.h"
#include "support/scratch.h"

#include <math.h>
#include <png.h>
#include <unistd.h>

static unsigned state_of_noise;
static double noise(void) { return chance(&state_of_noise) / 16777216.0; }

/* The horizon by walking the line in steps of a hundredth of a millimetre. */
static double walked(const LitFace *f, const double point[3], const RakingWay *way)
{
    double tangent = 0;
    const int c0 = (int)(point[0] / f->cell_width), r0 = (int)(point[1] / f->cell_height);
    for (double d = 0.01; d < way->reach; d += 0.01) {
        const double u = (point[0] + d * way->dx) / f->cell_width;
        const double v = (point[1] + d * way->dy) / f->cell_height;
        if (u < 0 || v < 0 || u >= f->columns || v >= f->rows) break;
        if ((int)u == c0 && (int)v == r0) continue;
        const double above = (double)f->height[(int)v * f->columns + (int)u] - point[2];
        tangent = fmax(tangent, above / d);
    }
    return tangent;
}

static void the_horizon_is_what_a_walk_finds(void **state)
{
    (void)state;
    float height[17 * 13];
    const LitFace face = {
        .columns = 17, .rows = 13, .cell_width = 8, .cell_height = 9.6, .height = height};
    state_of_noise = 3;
    for (int turn = 0; turn < 40; turn++) {
        for (int i = 0; i < 17 * 13; i++) height[i] = (float)(8 * floor(1 + 6 * noise()));
        const double x = 136 * noise(), y = 124.8 * noise(), way = 2 * M_PI * noise();
        const double point[] = {x, y, (double)height[(int)(y / 9.6) * 17 + (int)(x / 8)]};
        const double reach = turn % 2 ? 40 : 1000;
        const RakingWay line = raking_way(&face, cos(way), sin(way), reach, 0);
        const double exact = raking_horizon(&face, 48, point, &line);
        const double coarse = walked(&face, point, &line);
        assert_true(fabs(exact - coarse) <= 0.02 * (1 + exact * exact));
        assert_true(exact >= coarse - 1e-9 || reach < 100);
    }
}

/* ---- the picture ---- */

typedef struct Picture {
    int width, height;
    uint8_t *rgb; /* top row first */
} Picture;

static Picture look(Fixture *f, double angle, double height)
{
    char path[SCRATCH_MOST];
    assert_true(scratch_file(path));
    RakingLightOptions options = RAKING_LIGHT_OPTIONS_DEFAULT;
    options.angle = angle;
    options.height = height;
    f->mural.threads = 2;
    assert_int_equal(
        relief_render_write(&f->mural, &options, &(PaintPlace){.path = path}, NULL, NULL), 0);
    png_image image = {.version = PNG_IMAGE_VERSION};
    assert_true(png_image_begin_read_from_file(&image, path));
    image.format = PNG_FORMAT_RGB;
    Picture p = {(int)image.width, (int)image.height,
                 malloc((size_t)image.width * image.height * 3)};
    assert_true(png_image_finish_read(&image, NULL, p.rgb, 0, NULL));
    unlink(path);
    return p;
}

/* One wall of four tiers, eight cells wide and high, on a plain field of one colour. */
static void block_start(Fixture *f)
{
    const FixtureAsk ask = {.columns = 60,
                            .rows = 60,
                            .panel_columns = 60,
                            .panel_rows = 60,
                            .colours = 2,
                            .build = BUILD_PLAQUE,
                            .base = 1,
                            .steps = 1};
    fixture_init(f, &ask);
    for (int i = 0; i < 3600; i++) {
        const int x = i % 60, y = i / 60;
        f->grid.colour[i] = 1;
        f->grid.steps[i] = x >= 24 && x < 32 && y >= 24 && y < 32 ? 4 : 0;
    }
    laid_clear(&f->laid); /* one brick a cell of the face: joints everywhere */
    for (int i = 0; i < 3600; i++) {
        const Brick b = {.column = i % 60,
                         .row = i / 60,
                         .tier = f->grid.steps[i],
                         .columns = 1,
                         .rows = 1,
                         .tiers = 1};
        laid_add(&f->laid, &b, NULL);
    }
}

/* Green of the pixel in the middle of a cell. */
static int middle(const Picture *p, int column, int row)
{
    const int cell = p->width / 60;
    const int x = column * cell + cell / 2, y = p->height - 1 - (row * cell + cell / 2);
    return p->rgb[3 * (y * p->width + x) + 1];
}

/* Four tiers of 9.6 mm under a lamp at the left, 7 degrees about its middle: none of it is seen up
 * to 38.4 mm / tan(height + 7), all of it from 38.4 mm / tan(height - 7) on, and between there are
 * shades. */
static void a_shadow_is_as_long_as_the_lamp_is_low(void **state)
{
    (void)state;
    static const double heights[] = {15, 25, 40, 60};
    Fixture f;
    block_start(&f);
    for (int i = 0; i < 4; i++) {
        const Picture p = look(&f, 270, heights[i]);
        const double shaded = 38.4 / tan((heights[i] + 7) * M_PI / 180) / 8;
        const double clear = 38.4 / tan((heights[i] - 7) * M_PI / 180) / 8;
        const int lit = middle(&p, 4, 28);
        int shades = 0, last = 0;
        for (int x = 32; x < 60; x++) {
            const double d = x + 0.5 - 32;
            const int light = middle(&p, x, 28);
            if (d < shaded - 0.6) assert_true(light < lit * 0.75);
            if (d > clear + 0.6 && d > 9) assert_int_equal(light, lit);
            shades += light > last + 2 && light < lit - 2;
            last = light;
        }
        if (i == 1) assert_true(shades >= 4);
        for (int x = 0; x < 14; x++) assert_int_equal(middle(&p, x, 28), lit);
        assert_int_equal(middle(&p, 28, 28), lit); /* the block's face is as flat */
        assert_int_equal(middle(&p, 28, 45), lit); /* and beside it there is none */
        free(p.rgb);
    }
    fixture_clear(&f);
}

/* The lamp from above, right, below: clockwise. */
static void the_angle_turns_clockwise_from_above(void **state)
{
    (void)state;
    static const int shade[4][2] = {{28, 20}, {20, 28}, {28, 35}, {35, 28}};
    Fixture f;
    block_start(&f);
    for (int i = 0; i < 4; i++) {
        const Picture p = look(&f, 90.0 * i, 30);
        for (int k = 0; k < 4; k++)
            assert_int_equal(middle(&p, shade[k][0], shade[k][1]) < middle(&p, 4, 4) * 3 / 4,
                             k == i);
        free(p.rgb);
    }
    fixture_clear(&f);
}

static void every_allocation_may_fail(void **state)
{
    (void)state;
    Fixture f;
    block_start(&f);
    f.mural.threads = 1;
    const RakingLightOptions options = RAKING_LIGHT_OPTIONS_DEFAULT;
    char path[SCRATCH_MOST]; /* of a file that can be read back */
    assert_true(scratch_file(path));
    int failed = 0;
    for (long n = 0; n < 1000; n++) {
        Fault fault = {0};
        memory_fail_after(n);
        const Status status =
            relief_render_write(&f.mural, &options, &(PaintPlace){.path = path}, NULL, &fault);
        memory_fail_after(-1);
        if (!status) break;
        assert_int_not_equal(status, STATUS_INTERNAL);
        failed++;
    }
    assert_int_equal(remove(path), 0);
    assert_in_range(failed, 6, 999);
    fixture_clear(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_horizon_is_what_a_walk_finds),
        cmocka_unit_test(a_shadow_is_as_long_as_the_lamp_is_low),
        cmocka_unit_test(the_angle_turns_clockwise_from_above),
        cmocka_unit_test(every_allocation_may_fail),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
