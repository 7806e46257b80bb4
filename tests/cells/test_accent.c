/* What is small and stands out keeps its hue and lightness, at the defaults of a plan. */
#include "cells/accent.h"

#include "cells/look.h"
#include "support/faces.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

enum { SIDE = 64, MIDDLE = SIDE / 2, GROUNDS = 3 };

static const Lab ground[GROUNDS] = {{80, 2, 10}, {50, 0, 0}, {28, 4, -12}};

typedef bool Shape(int column, int row);

static bool dot(int column, int row)
{
    return column >= MIDDLE && column < MIDDLE + 2 && row >= MIDDLE && row < MIDDLE + 2;
}

static bool disc(int column, int row)
{
    const int x = column - MIDDLE, y = row - MIDDLE;
    return x * x + y * y <= 6; /* five cells across */
}

static bool arc(int column, int row)
{
    return column > MIDDLE && fabs(hypot(column - MIDDLE, row - MIDDLE) - 20.0) < 0.5;
}

static Image painted(Shape *shape, Lab on, Lab accent)
{
    Image image;
    if (image_init(&image, SIDE, SIDE, NULL)) abort();
    for (int i = 0; i < SIDE * SIDE; i++) {
        const Xyz c = xyz_from_lab(shape(i % SIDE, i / SIDE) ? accent : on);
        const float xyz[3] = {(float)c.x, (float)c.y, (float)c.z};
        memcpy(image.xyz + 3 * i, xyz, sizeof xyz);
    }
    return image;
}

/* How far a colour is off in hue and in lightness. */
typedef struct Off {
    double hue, lightness;
} Off;

static Off off_from(Lab got, Lab want)
{
    const double turn = fabs(atan2(got.b, got.a) - atan2(want.b, want.a)) * 180.0 / acos(-1.0);
    return (Off){fmin(turn, 360.0 - turn), fabs(got.L - want.L)};
}

/* What no brick has no search can keep: at least as well as the nearest colour, then. */
static Off allowed(const Palette *palette, Lab accent)
{
    int nearest = 0;
    for (int c = 1; c < palette->count; c++)
        if (delta_e_2000(palette->colour[c].lab, accent) <
            delta_e_2000(palette->colour[nearest].lab, accent))
            nearest = c;
    const Off had = off_from(palette->colour[nearest].lab, accent);
    return (Off){fmax(30.0, had.hue + 0.5), fmax(15.0, had.lightness + 0.5)};
}

/* Every cell of the shape keeps hue and lightness. */
static void assert_kept(Shape *shape, const Palette *palette, Lab on, Lab accent)
{
    Image image = painted(shape, on, accent);
    Grid grid;
    if (grid_init(&grid, SIDE, SIDE, false, NULL)) abort();
    const LookOptions options = LOOK_OPTIONS_DEFAULT;
    assert_int_equal(look_search(&image, palette, &options, &grid, NULL, NULL), STATUS_OK);
    const Off most = allowed(palette, accent);
    for (int i = 0; i < SIDE * SIDE; i++) {
        if (!shape(i % SIDE, i / SIDE)) continue;
        const Lab got = palette->colour[grid.colour[i]].lab;
        const Off off = off_from(got, accent);
        if (off.hue > most.hue || off.lightness > most.lightness)
            fail_msg("L %.0f a %.0f b %.0f on L %.0f became L %.0f a %.0f b %.0f", accent.L,
                     accent.a, accent.b, on.L, got.L, got.a, got.b);
    }
    grid_clear(&grid);
    image_clear(&image);
}

static Palette *our_palette(void)
{
    Palette *palette = calloc(1, sizeof *palette);
    if (!palette || palette_default(palette, NULL)) abort();
    return palette;
}

static void test_red(void **state)
{
    (void)state;
    Palette *palette = our_palette();
    for (int g = 0; g < GROUNDS; g++) {
        assert_kept(dot, palette, ground[g], (Lab){45, 60, 35});
        assert_kept(disc, palette, ground[g], (Lab){45, 60, 35});
    }
    free(palette);
}

/* Twelve hues, as much chroma as sRGB has at that lightness, up to 55. */
static void test_hues(void **state)
{
    (void)state;
    Palette *palette = our_palette();
    int had = 0;
    for (int i = 0; i < 12; i++) {
        const double hue = i * acos(-1.0) / 6.0, L = i == 3 || i == 2 ? 72.0 : 50.0;
        Lab accent = {L, 55.0 * cos(hue), 55.0 * sin(hue)};
        while (!in_gamut(accent)) accent.a *= 0.97, accent.b *= 0.97;
        const Off most = allowed(palette, accent);
        had += most.hue <= 30.0 && most.lightness <= 15.0;
        for (int g = 0; g < GROUNDS; g++) assert_kept(arc, palette, ground[g], accent);
    }
    assert_true(had >= 9);
    free(palette);
}

/* The edge between two large areas is no accent, nor is an even ground; a dot, a disc and an arc
 * are. From very far off nothing is. */
static void test_share(void **state)
{
    (void)state;
    static Shape *const shape[3] = {dot, disc, arc};
    static float share[SIDE * SIDE];
    const Viewpoint near = {8.0, 8.0, 5000.0}, far = {8.0, 8.0, 100000.0};
    for (int s = 0; s < 3; s++) {
        Image image = painted(shape[s], ground[0], (Lab){45, 60, 35});
        assert_int_equal(accent_find(&image, &near, 2, NULL, share, NULL), STATUS_OK);
        for (int i = 0; i < SIDE * SIDE; i++)
            assert_true(shape[s](i % SIDE, i / SIDE) ? share[i] > 0.5f : share[i] < 0.1f);
        assert_int_equal(accent_find(&image, &far, 1, NULL, share, NULL), STATUS_OK);
        for (int i = 0; i < SIDE * SIDE; i++) assert_true(share[i] == 0.0f);
        image_clear(&image);
    }
    Image halves = painted(dot, ground[0], ground[0]);
    for (int i = 0; i < SIDE * SIDE; i++)
        if (i % SIDE > MIDDLE)
            for (int k = 0; k < 3; k++) halves.xyz[3 * i + k] *= 0.1f;
    assert_int_equal(accent_find(&halves, &near, 1, NULL, share, NULL), STATUS_OK);
    for (int i = 0; i < SIDE * SIDE; i++) assert_true(share[i] == 0.0f);
    image_clear(&halves);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_share),
        cmocka_unit_test(test_red),
        cmocka_unit_test(test_hues),
    };
    return cmocka_run_group_tests_name("accent", tests, NULL, NULL);
}
