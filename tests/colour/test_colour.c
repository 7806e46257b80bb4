/* sRGB, XYZ and CIELAB against lcms2 and a table of check values. */
#include "colour/colour.h"

#include <lcms2.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

static void assert_lab_near(Lab lab, Lab other, double within)
{
    assert_true(fabs(lab.L - other.L) < within);
    assert_true(fabs(lab.a - other.a) < within);
    assert_true(fabs(lab.b - other.b) < within);
}

/* 8-bit sRGB in CIELAB of the ICC profile connection space, worked out in exact
 * arithmetic from IEC 61966-2-1's primaries and Bradford's matrix. */
static const struct {
    uint8_t rgb[3];
    Lab lab;
} table[] = {
    {{255, 255, 255}, {100, 0, 0}},
    {{255, 0, 0}, {54.289632, 80.814356, 69.889742}},
    {{0, 255, 0}, {87.819406, -79.274942, 80.992723}},
    {{0, 0, 255}, {29.565939, 68.286208, -112.032919}},
    {{0, 255, 255}, {90.666407, -50.663054, -14.961013}},
    {{255, 0, 255}, {60.167321, 93.546663, -60.502719}},
    {{255, 255, 0}, {97.607388, -15.747929, 93.391258}},
    {{119, 119, 119}, {50.034439, 0, 0}},
    {{128, 128, 128}, {53.585013, 0, 0}},
    {{188, 188, 188}, {76.246091, 0, 0}},
    {{10, 10, 10}, {2.741748, 0, 0}},
    {{11, 11, 11}, {3.022913, 0, 0}},
    {{200, 100, 50}, {54.217117, 38.202862, 46.248097}},
};

static void as_the_table_has_it(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof *table; i++)
        assert_lab_near(lab_from_srgb8(table[i].rgb), table[i].lab, 1e-4);
}

/* A stride over all 8-bit colours through lcms2's own sRGB profile, in doubles. */
static void as_lcms2_has_it(void **state)
{
    (void)state;
    cmsHPROFILE srgb = cmsCreate_sRGBProfile(), lab = cmsCreateLab4Profile(NULL);
    cmsHTRANSFORM transform =
        cmsCreateTransform(srgb, TYPE_RGB_DBL, lab, TYPE_Lab_DBL, INTENT_RELATIVE_COLORIMETRIC,
                           cmsFLAGS_NOOPTIMIZE | cmsFLAGS_NOCACHE);
    assert_non_null(transform);
    for (unsigned code = 0; code < 1u << 24; code += 977) {
        const uint8_t rgb[3] = {(uint8_t)code, (uint8_t)(code >> 8), (uint8_t)(code >> 16)};
        const double in[3] = {rgb[0] / 255.0, rgb[1] / 255.0, rgb[2] / 255.0};
        cmsCIELab out;
        cmsDoTransform(transform, in, &out, 1);
        assert_lab_near(lab_from_srgb8(rgb), (Lab){out.L, out.a, out.b}, 1e-4);
    }
    cmsDeleteTransform(transform);
    cmsCloseProfile(srgb);
    cmsCloseProfile(lab);
}

/* Equal channels have no chroma: the matrix's rows sum to the white. */
static void greys_are_neutral(void **state)
{
    (void)state;
    for (int v = 0; v < 256; v++) {
        const Lab lab = lab_from_srgb8((const uint8_t[]){(uint8_t)v, (uint8_t)v, (uint8_t)v});
        assert_true(fabs(lab.a) < 1e-5 && fabs(lab.b) < 1e-5);
        assert_true(lab.L >= 0.0 && lab.L < 100.0 + 1e-7);
    }
}

/* There and back again without loss, in 8 bits and in doubles. */
static void round_trips(void **state)
{
    (void)state;
    for (unsigned code = 0; code < 1u << 24; code += 101) {
        const uint8_t rgb[3] = {(uint8_t)code, (uint8_t)(code >> 8), (uint8_t)(code >> 16)};
        const Lab lab = lab_from_srgb8(rgb);
        uint8_t back[3];
        srgb8_from_lab(lab, back);
        assert_memory_equal(rgb, back, 3);
        assert_lab_near(lab, lab_from_xyz(xyz_from_lab(lab)), 1e-9);
    }
}

/* CIE 15:2018: the curve's two pieces meet, in value, at 216/24389 (L* = 8). */
static void lightness_has_no_jump(void **state)
{
    (void)state;
    const double joint = 216.0 / 24389.0;
    const Lab below = lab_from_xyz((Xyz){0, joint * (1 - 1e-12), 0});
    const Lab above = lab_from_xyz((Xyz){0, joint * (1 + 1e-12), 0});
    assert_true(fabs(below.L - 8.0) < 1e-9 && fabs(above.L - 8.0) < 1e-9);
}

/* Outside the gamut a screen's code is clipped, not wrapped. */
static void screens_clip(void **state)
{
    (void)state;
    uint8_t rgb[3];
    srgb8_from_linear((Rgb){1.5, -0.5, 0.5}, rgb);
    assert_int_equal(rgb[0], 255);
    assert_int_equal(rgb[1], 0);
    assert_int_equal(rgb[2], 188);
}

/* Out of gamut, luminance and the direction from the neutral stay, and the gamut's edge is met;
 * in gamut nothing moves. Against the definition: r - y, g - y, b - y are in proportion. */
static void gamut_takes_chroma_alone(void **state)
{
    (void)state;
    int outside = 0;
    for (int r = -4; r <= 12; r++)
        for (int g = -4; g <= 12; g++)
            for (int b = -4; b <= 12; b++) {
                const Rgb c = {r / 8.0, g / 8.0, b / 8.0}, to = linear_into_gamut(c);
                const double least = fmin(to.r, fmin(to.g, to.b));
                const double most = fmax(to.r, fmax(to.g, to.b));
                const double y = xyz_from_linear(c).y;
                assert_true(least >= -1e-12 && most <= 1 + 1e-12);
                if (r >= 0 && g >= 0 && b >= 0 && r <= 8 && g <= 8 && b <= 8) {
                    assert_true(to.r == c.r && to.g == c.g && to.b == c.b);
                    continue;
                }
                outside++;
                assert_true(fabs(xyz_from_linear(to).y - fmin(1, fmax(0, y))) < 1e-7);
                if (y <= 0 || y >= 1) continue;
                assert_true(least < 1e-12 || most > 1 - 1e-12);
                assert_true(fabs((to.r - y) * (c.g - y) - (to.g - y) * (c.r - y)) < 1e-7);
                assert_true(fabs((to.g - y) * (c.b - y) - (to.b - y) * (c.g - y)) < 1e-7);
                assert_true((to.r - y) * (c.r - y) >= -1e-7);
            }
    assert_true(outside > 3000);
}

/* The table against the formula: a dense sweep, and the numbers around each of its edges. */
static void table_is_the_formula(void **state)
{
    (void)state;
    static Srgb8 screen;
    srgb8_init(&screen);
    uint8_t quick[3], slow[3];
    for (int i = -20000; i < 1020000; i++) {
        const double v = i * 1e-6;
        const Rgb c = {v, v + 3e-7, 1.0 - v};
        srgb8_look_up(&screen, c, quick);
        srgb8_from_linear(c, slow);
        assert_memory_equal(quick, slow, 3);
    }
    for (int byte = 1; byte < 256; byte++) {
        const double edge = screen.edge[byte];
        const Rgb c = {nextafter(edge, 0.0), edge, nextafter(edge, 2.0)};
        srgb8_look_up(&screen, c, quick);
        srgb8_from_linear(c, slow);
        assert_memory_equal(quick, slow, 3);
        assert_int_equal(quick[0], byte - 1);
        assert_int_equal(quick[1], byte);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(as_the_table_has_it),      cmocka_unit_test(as_lcms2_has_it),
        cmocka_unit_test(greys_are_neutral),        cmocka_unit_test(round_trips),
        cmocka_unit_test(lightness_has_no_jump),    cmocka_unit_test(screens_clip),
        cmocka_unit_test(gamut_takes_chroma_alone), cmocka_unit_test(table_is_the_formula),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
