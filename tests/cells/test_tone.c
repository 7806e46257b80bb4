#include "cells/tone.h"

#include "base/memory.h"
#include "support/faces.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#define NEAR(got, want, tolerance)                                                                 \
    assert_float_equal((float)(got), (float)(want), (float)(tolerance))

/* A picture of 33 greys in its first two rows, then colours from all over sRGB. */
static void picture_make(Image *image)
{
    if (image_init(image, 33, 40, NULL)) abort();
    uint64_t seed = 77;
    for (int row = 0; row < 40; row++)
        for (int column = 0; column < 33; column++) {
            const double grey = column / 32.0;
            const Xyz c = row > 1 ? xyz_from_lab(draw_srgb(&seed))
                                  : (Xyz){0.9642 * grey, grey, 0.8249 * grey};
            float *to = image->xyz + 3 * (row * 33 + column);
            to[0] = (float)c.x, to[1] = (float)c.y, to[2] = (float)c.z;
        }
}

/* Black and white go to the darkest and lightest neutral, and luminance between them
 * stays a straight line in linear light: Y' = Yb + (Yw - Yb) Y. Greys stay grey. */
static void test_black_and_white(void **state)
{
    (void)state;
    Palette *palette = calloc(1, sizeof *palette);
    palette_rings(palette);
    Image image, fitted;
    picture_make(&image);
    assert_int_equal(tone_fit(&image, palette, 2, NULL, &fitted, NULL), STATUS_OK);
    const double black = xyz_from_lab((Lab){18, 0, 0}).y, white = xyz_from_lab((Lab){94, 0, 0}).y;
    for (int row = 0; row < 40; row++)
        for (int column = 0; column < 33; column++)
            NEAR(image_at(&fitted, column, row).y,
                 black + (white - black) * image_at(&image, column, row).y, 1e-5);
    for (int column = 0; column < 33; column++) {
        const Lab lab = lab_from_xyz(image_at(&fitted, column, 0));
        NEAR(hypot(lab.a, lab.b), 0.0, 0.01);
    }
    image_clear(&image);
    image_clear(&fitted);
    free(palette);
}

/* A print on pale paper, none of it lighter than the palette's white: foam and paper are matched
 * by white as they were, no yellow or pink bricks among them, and black by black. */
static void test_white_stays_white(void **state)
{
    (void)state;
    enum { SIDE = 40 };
    Palette *palette = calloc(1, sizeof *palette);
    const Lab colours[] = {{94, 0, 0},  {82, 0, 0}, {58, 0, 0},   {34, 0, 0},    {10, 0, 0},
                           {85, 5, 20}, {78, 9, 3}, {75, 15, 21}, {71, -7, -23}, {34, 12, -50}};
    for (size_t i = 0; i < sizeof colours / sizeof *colours; i++) palette_add(palette, colours[i]);
    Image image, fitted;
    if (image_init(&image, SIDE, SIDE, NULL)) abort();
    for (int i = 0; i < SIDE * SIDE; i++) {
        /* foam of 90 to 94, a little warm; ink of 10 to 12; blue water between */
        const double t = i % SIDE / (SIDE - 1.0);
        const Lab lab = i < 600    ? (Lab){90 + 4 * t, 0.5, 4 + 3 * t}
                        : i < 1200 ? (Lab){30 + 40 * t, -2, -20}
                                   : (Lab){10 + 2 * t, 0, 0};
        const Xyz c = xyz_from_lab(lab);
        float *to = image.xyz + 3 * i;
        to[0] = (float)c.x, to[1] = (float)c.y, to[2] = (float)c.z;
    }
    assert_int_equal(tone_fit(&image, palette, 1, NULL, &fitted, NULL), STATUS_OK);
    for (int i = 0; i < SIDE * SIDE; i++) {
        const Lab lab = lab_from_xyz(image_at(&fitted, i % SIDE, i / SIDE));
        int best = 0;
        for (int c = 1; c < palette->count; c++)
            if (delta_e_2000(lab, palette->colour[c].lab) <
                delta_e_2000(lab, palette->colour[best].lab))
                best = c;
        if (i < 600) assert_int_equal(best, 0);
        if (i >= 1200) assert_int_equal(best, 4);
    }
    image_clear(&image);
    image_clear(&fitted);
    free(palette);
}

/* No colour turns its hue about the neutral in linear light, and none gains chroma. */
static void test_never_tinted(void **state)
{
    (void)state;
    Palette *palette = calloc(1, sizeof *palette);
    palette_rings(palette);
    Image image, fitted;
    picture_make(&image);
    assert_int_equal(tone_fit(&image, palette, 1, NULL, &fitted, NULL), STATUS_OK);
    for (int i = 0; i < 33 * 40; i++) {
        const Xyz p = image_at(&image, i % 33, i / 33), q = image_at(&fitted, i % 33, i / 33);
        const double px = p.x / 0.9642 - p.y, pz = p.z / 0.8249 - p.y;
        const double qx = q.x / 0.9642 - q.y, qz = q.z / 0.8249 - q.y;
        assert_true(hypot(qx, qz) <= hypot(px, pz) + 1e-6);
        assert_true(fabs(px * qz - pz * qx) < 1e-6 && px * qx + pz * qz > -1e-6);
    }
    image_clear(&image);
    image_clear(&fitted);
    free(palette);
}

/* In every direction that is drawn, no fitted colour lies beyond all colours of the
 * palette by more than the planes' tolerance; before, a quarter or more did somewhere. */
static void test_inside_the_hull(void **state)
{
    (void)state;
    Palette *palette = calloc(1, sizeof *palette);
    palette_rings(palette);
    Image image, fitted;
    picture_make(&image);
    assert_int_equal(tone_fit(&image, palette, 1, NULL, &fitted, NULL), STATUS_OK);
    uint64_t seed = 5;
    double worst = 0.0, before = 0.0;
    for (int n = 0; n < 2000; n++) {
        double d[3], support = -INFINITY;
        for (int j = 0; j < 3; j++) d[j] = draw_between(&seed, -1.0, 1.0);
        for (int c = 0; c < palette->count; c++) {
            const Xyz p = palette->colour[c].xyz;
            support = fmax(support, d[0] * p.x + d[1] * p.y + d[2] * p.z);
        }
        for (int i = 0; i < 33 * 40; i++) {
            const Xyz p = image_at(&fitted, i % 33, i / 33), q = image_at(&image, i % 33, i / 33);
            worst = fmax(worst, d[0] * p.x + d[1] * p.y + d[2] * p.z - support);
            before = fmax(before, d[0] * q.x + d[1] * q.y + d[2] * q.z - support);
        }
    }
    assert_true(worst < 0.012);
    assert_true(before > 0.2);
    image_clear(&image);
    image_clear(&fitted);
    free(palette);
}

/* Along one hue chroma is drawn in smoothly: never less for more, without a corner. */
static void test_smooth(void **state)
{
    (void)state;
    enum { STEPS = 200 };
    Palette *palette = calloc(1, sizeof *palette);
    palette_rings(palette);
    for (int hue = 0; hue < 360; hue += 20) {
        Image image, fitted;
        if (image_init(&image, STEPS, 1, NULL)) abort();
        for (int i = 0; i < STEPS; i++) {
            /* a straight line away from grey in linear light */
            const double y = 0.3, t = 0.002 * i, angle = hue * acos(-1.0) / 180.0;
            image.xyz[3 * i] = (float)(0.9642 * (y + 0.5 * t * cos(angle)));
            image.xyz[3 * i + 1] = (float)y;
            image.xyz[3 * i + 2] = (float)(0.8249 * (y + t * sin(angle)));
        }
        assert_int_equal(tone_fit(&image, palette, 1, NULL, &fitted, NULL), STATUS_OK);
        double last = -1e-6, step = 0.0;
        for (int i = 0; i < STEPS; i++) {
            const Xyz c = image_at(&fitted, i, 0);
            const double chroma = hypot(c.x / 0.9642 - c.y, c.z / 0.8249 - c.y);
            assert_true(chroma >= last - 1e-6);
            if (i > 1) assert_true(fabs(chroma - last - step) < 2e-4);
            step = chroma - last;
            last = chroma;
        }
        image_clear(&image);
        image_clear(&fitted);
    }
    free(palette);
}

/* Palettes with nothing to spare: greys only, one colour, no neutral at all. */
static void test_poor_palettes(void **state)
{
    (void)state;
    Palette *palette = calloc(1, sizeof *palette);
    static const Lab colour[3][3] = {{{20, 0, 0}, {50, 0, 0}, {80, 0, 0}},
                                     {{60, 30, -20}, {60, 30, -20}, {60, 30, -20}},
                                     {{40, 40, 20}, {60, -40, 30}, {70, 5, -30}}};
    for (int p = 0; p < 3; p++) {
        palette->count = 0;
        for (int i = 0; i < 3; i++) palette_add(palette, colour[p][i]);
        Image image, fitted;
        picture_make(&image);
        assert_int_equal(tone_fit(&image, palette, 1, NULL, &fitted, NULL), STATUS_OK);
        const ToneRange range = tone_range(palette);
        assert_true(range.black <= range.white);
        for (int i = 0; i < 33 * 40; i++) {
            const Xyz c = image_at(&fitted, i % 33, i / 33);
            assert_true(isfinite(c.x) && isfinite(c.z));
            assert_true(c.y >= range.black - 1e-6 && c.y <= range.white + 1e-6);
            if (p == 0) NEAR(hypot(lab_from_xyz(c).a, lab_from_xyz(c).b), 0.0, 3.0);
        }
        image_clear(&image);
        image_clear(&fitted);
    }
    free(palette);
}

/* The same bytes on any number of threads; every allocation fails in turn. */
static void test_threads_and_allocations(void **state)
{
    (void)state;
    Palette *palette = calloc(1, sizeof *palette);
    palette_rings(palette);
    Image image, one, many;
    picture_make(&image);
    assert_int_equal(tone_fit(&image, palette, 1, NULL, &one, NULL), STATUS_OK);
    assert_int_equal(tone_fit(&image, palette, 7, NULL, &many, NULL), STATUS_OK);
    assert_memory_equal(one.xyz, many.xyz, 33 * 40 * 3 * sizeof(float));
    image_clear(&many);
    for (long n = 0;; n++) {
        Fault fault;
        memory_fail_after(n);
        const Status status = tone_fit(&image, palette, 1, NULL, &many, &fault);
        const bool failed = memory_countdown() < 0;
        memory_fail_after(-1);
        assert_int_equal(status, failed ? STATUS_NO_RESOURCE : STATUS_OK);
        if (!failed) break;
    }
    image_clear(&many);
    image_clear(&one);
    image_clear(&image);
    free(palette);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_black_and_white),
        cmocka_unit_test(test_white_stays_white),
        cmocka_unit_test(test_never_tinted),
        cmocka_unit_test(test_inside_the_hull),
        cmocka_unit_test(test_smooth),
        cmocka_unit_test(test_poor_palettes),
        cmocka_unit_test(test_threads_and_allocations),
    };
    return cmocka_run_group_tests_name("tone", tests, NULL, NULL);
}
