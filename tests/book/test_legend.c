#include "book/legend.h"

#include "base/memory.h"
#include "colour/delta_e.h"
#include "support/mural_fixture.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

static bool all_used[PALETTE_MOST];

static int set_up(void **state)
{
    (void)state;
    for (int i = 0; i < PALETTE_MOST; i++) all_used[i] = true;
    return 0;
}

/* WCAG 2.1: black on white is 21:1, a colour on itself 1:1; #767676 on white is the
 * familiar darkest grey that still passes 4.5:1 (4.54, from memory). */
static void contrast_is_wcags(void **state)
{
    (void)state;
    const uint8_t black[3] = {0, 0, 0}, white[3] = {255, 255, 255}, grey[3] = {0x76, 0x76, 0x76};
    assert_true(fabs(contrast_ratio(black, white) - 21.0) < 1e-12);
    assert_true(fabs(contrast_ratio(white, black) - 21.0) < 1e-12);
    assert_true(fabs(contrast_ratio(grey, grey) - 1.0) < 1e-12);
    assert_true(fabs(contrast_ratio(grey, white) - 4.54) < 0.005);
}

/* The better of black and white is never below the square root of 21, 4.58: worked out from
 * the formula. Checked on every colour of a palette and on a lattice of sRGB. */
static void type_can_be_read(void **state)
{
    (void)state;
    static Palette palette;
    const uint8_t black[3] = {0, 0, 0}, white[3] = {255, 255, 255};
    fixture_palette(&palette, 200);
    Legend *key;
    assert_int_equal(legend_create(&key, &palette, all_used, NULL), STATUS_OK);
    for (int i = 0; i < 200; i++) {
        const double ratio =
            contrast_ratio(palette.colour[i].srgb, key->colour[i].white ? white : black);
        assert_true(fabs(ratio - key->colour[i].contrast) < 1e-12);
        assert_true(ratio >= 4.5);
    }
    legend_free(key);
    for (int r = 0; r < 256; r += 15)
        for (int g = 0; g < 256; g += 15)
            for (int b = 0; b < 256; b += 15) {
                const uint8_t c[3] = {(uint8_t)r, (uint8_t)g, (uint8_t)b};
                assert_true(fmax(contrast_ratio(c, black), contrast_ratio(c, white)) >= 4.58);
            }
}

/* Machado, Oliveira, Fernandes 2009: pure red gives the first columns of the matrices of
 * severity 1.0, negative parts clipped; the rows sum to 1, so greys stay as they are. */
static void vision_follows_the_matrices(void **state)
{
    (void)state;
    const Rgb red = {1.0, 0.0, 0.0};
    const Rgb protan = vision_simulate(VISION_PROTAN, red);
    assert_true(fabs(protan.r - 0.152286) < 1e-9);
    assert_true(fabs(protan.g - 0.114503) < 1e-9);
    assert_true(protan.b == 0.0);
    const Rgb deutan = vision_simulate(VISION_DEUTAN, red);
    assert_true(fabs(deutan.r - 0.367322) < 1e-9);
    assert_true(fabs(deutan.g - 0.280085) < 1e-9);
    const Rgb tritan = vision_simulate(VISION_TRITAN, (Rgb){0.0, 0.0, 1.0});
    assert_true(tritan.r == 0.0);
    assert_true(fabs(tritan.g - 0.147602) < 1e-9);
    assert_true(fabs(tritan.b - 0.303900) < 1e-9);
    for (int v = 0; v < 3; v++) {
        const Rgb grey = vision_simulate((Vision)v, (Rgb){0.4, 0.4, 0.4});
        assert_true(fabs(grey.r - 0.4) < 1e-5 && fabs(grey.g - 0.4) < 1e-5 &&
                    fabs(grey.b - 0.4) < 1e-5);
    }
}

/* Known by what they are: a red and a green of one lightness are alike in grey and to a
 * deutan eye, black and white are alike to nobody. */
static void known_pairs_are_flagged(void **state)
{
    (void)state;
    static Palette palette;
    memset(&palette, 0, sizeof palette);
    static const uint8_t rgb[4][3] = {{180, 60, 50}, {112, 108, 40}, {0, 0, 0}, {255, 255, 255}};
    palette.count = 4;
    for (int i = 0; i < 4; i++) {
        Colour *c = &palette.colour[i];
        snprintf(c->id, sizeof c->id, "C%d", i);
        c->lab = lab_from_srgb8(rgb[i]);
        memcpy(c->srgb, rgb[i], 3);
    }
    Legend *key;
    assert_int_equal(legend_create(&key, &palette, all_used, NULL), STATUS_OK);
    assert_true(key->alike[0][1] & ALIKE_GREY);
    assert_true(key->alike[0][1] & ALIKE_DEUTAN);
    assert_false(key->alike[0][1] & ALIKE_TRITAN);
    assert_int_equal(key->alike[2][3], 0);
    legend_free(key);
}

/* Brute force over all pairs, for few and for as many colours as can be. */
static void alike_colours_have_other_symbols(void **state)
{
    (void)state;
    static Palette palette;
    static const int counts[] = {1, 12, 48, 100, PALETTE_MOST};
    for (int n = 0; n < 5; n++) {
        fixture_palette(&palette, counts[n]);
        Legend *key;
        assert_int_equal(legend_create(&key, &palette, all_used, NULL), STATUS_OK);
        int shapes_shared = 0;
        for (int i = 0; i < counts[n]; i++) {
            assert_true(key->colour[i].symbol[0] != '\0');
            for (int j = 0; j < i; j++) {
                assert_string_not_equal(key->colour[i].symbol, key->colour[j].symbol);
                if (key->alike[i][j])
                    shapes_shared +=
                        legend_shape(key->colour[i].symbol) == legend_shape(key->colour[j].symbol);
                assert_int_equal(key->alike[i][j], key->alike[j][i]);
                const bool grey =
                    fabs(palette.colour[i].lab.L - palette.colour[j].lab.L) < ALIKE_GREY_DL;
                assert_int_equal((key->alike[i][j] & ALIKE_GREY) != 0, grey);
            }
        }
        if (counts[n] <= 48) assert_int_equal(shapes_shared, 0);
        legend_free(key);
    }
}

/* Colours that a mural does not use take no symbol from those that it does. */
static void unused_colours_have_none(void **state)
{
    (void)state;
    static Palette palette;
    bool used[PALETTE_MOST] = {false};
    fixture_palette(&palette, 100);
    used[3] = used[70] = true;
    Legend *key;
    assert_int_equal(legend_create(&key, &palette, used, NULL), STATUS_OK);
    assert_string_equal(key->colour[3].symbol, legend_mark(0));
    assert_string_equal(key->colour[4].symbol, "");
    assert_int_equal(key->alike[3][4], 0);
    legend_free(key);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(contrast_is_wcags),
        cmocka_unit_test(type_can_be_read),
        cmocka_unit_test(vision_follows_the_matrices),
        cmocka_unit_test(known_pairs_are_flagged),
        cmocka_unit_test(alike_colours_have_other_symbols),
        cmocka_unit_test(unused_colours_have_none),
    };
    return cmocka_run_group_tests(tests, set_up, NULL);
}
