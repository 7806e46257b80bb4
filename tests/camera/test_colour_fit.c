/* Least squares and colour fits against general libraries on the same numbers: numpy 1.24.2's
 * linalg.lstsq, and scikit-image 0.19.3's deltaE_ciede2000 for errors on patches left out (both
 * BSD). The light of the 24 patches was made from their XYZ by a matrix, with 3 % of noise. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "camera/colour_chart.h"
#include "camera/colour_fit.h"
#include "camera/least_squares.h"
#include "colour/delta_e.h"

#include <math.h>
#include <stdlib.h>

enum { PATCHES = 24 };

static const double light[PATCHES][3] = {
    {0.0817, 0.0608, 0.0155}, {0.2571, 0.2079, 0.0646}, {0.0846, 0.1281, 0.1095},
    {0.0596, 0.1073, 0.0151}, {0.1414, 0.1499, 0.1454}, {0.1334, 0.3443, 0.1298},
    {0.3004, 0.1668, 0.0053}, {0.0596, 0.0668, 0.1313}, {0.2301, 0.0764, 0.0348},
    {0.0515, 0.0308, 0.0447}, {0.2009, 0.3623, 0.0074}, {0.3275, 0.2694, 0.0040},
    {0.0326, 0.0319, 0.0927}, {0.0602, 0.1988, 0.0166}, {0.1682, 0.0394, 0.0122},
    {0.4027, 0.4087, 0.0037}, {0.2282, 0.0733, 0.0916}, {0.0362, 0.1594, 0.1143},
    {0.4537, 0.6386, 0.2671}, {0.3151, 0.4237, 0.1805}, {0.1972, 0.2548, 0.1197},
    {0.1072, 0.1370, 0.0592}, {0.0495, 0.0631, 0.0286}, {0.0173, 0.0230, 0.0101}};

static const double matrix_1[3][3] = {{0.516011222, 0.228740073, 0.014045602},
                                      {0.227272962, 0.612696621, 0.096935795},
                                      {0.062355293, 0.028770791, 0.586047353}};

static const double matrix_2[6][3] = {
    {0.502402851, 0.216711405, 0.055162105}, {0.146407826, 0.549621552, 0.136429802},
    {0.033594135, 0.021126619, 0.540435395}, {0.068517122, 0.064364490, -0.095343810},
    {0.096157106, 0.054434543, 0.081113672}, {-0.031308009, -0.032200964, -0.015056750}};

/* Mean and worst CIEDE2000 of patches left out, and which is worst, by degree. */
static const struct {
    double mean, worst;
    int at;
} left_out[FIT_DEGREES] = {{1.709081, 7.241381, 18},
                           {1.943071, 6.583930, 18},
                           {3.662648, 13.613417, 17},
                           {74.981627, 144.378696, 8}};

static FitPatch patch[PATCHES];

static int patches_make(void **state)
{
    (void)state;
    ColourChart *chart = malloc(sizeof *chart);
    if (!chart || colour_chart_default(chart, NULL)) return -1;
    for (int i = 0; i < PATCHES; i++)
        patch[i] = (FitPatch){.light = {light[i][0], light[i][1], light[i][2]},
                              .lab = chart->patches.colour[i].lab};
    free(chart);
    return 0;
}

static void test_least_squares(void **state)
{
    (void)state;
    double a[7 * 3] = {0.54,   -1.598, -0.833, -1.279, 1.523,  -0.666, -0.123,
                       -1.787, -1.022, -1.786, -0.195, -1.059, 1.439,  -0.979,
                       0.905,  -0.242, 0.412,  -1.023, -0.154, -0.264, -0.894};
    double b[7 * 2] = {0.45,   -1.6,   -0.278, -0.308, -0.017, -1.258, 0.56,
                       -1.005, -0.705, -1.065, -0.49,  0.274,  2.802,  -2.75};
    const double want[6] = {0.11273342867626145, -0.23593210539582007, -0.024985694056825658,
                            0.4693475496563165,  -0.6430962641734688,  0.916732470133696};
    assert_true(least_squares(a, b, 7, 3, 2));
    for (int i = 0; i < 6; i++) assert_true(fabs(b[i] - want[i]) < 1e-13);
    const double x[3] = {1.5, -2, 0.25};
    assert_true(fabs(least_squares_variance(a, 3, x) - 0.5154735569254031) < 1e-13);
    double alike[6] = {1, 2, 2, 4, 3, 6}, side[3] = {1, 2, 3};
    assert_false(least_squares(alike, side, 3, 2, 1));
}

static void assert_near(double got, double want, double slack, const char *what, int degree)
{
    if (!(fabs(got - want) <= slack))
        fail_msg("degree %d, %s: %.9f, the libraries have %.9f", degree, what, got, want);
}

static void test_fits(void **state)
{
    (void)state;
    ColourFit fit;
    for (int degree = 1; degree <= FIT_DEGREES; degree++) {
        assert_true(colour_fit_form(&fit, patch, PATCHES, degree, false));
        const double slack = degree < 4 ? 2e-4 : 1e-2; /* their ciede2000 is in single steps */
        assert_near(fit.mean, left_out[degree - 1].mean, slack, "mean", degree);
        assert_near(fit.worst, left_out[degree - 1].worst, slack, "worst", degree);
        assert_int_equal(fit.worst_patch, left_out[degree - 1].at);
        for (int t = 0; degree == 1 && t < 3; t++)
            for (int k = 0; k < 3; k++)
                assert_near(fit.matrix[t][k], matrix_1[t][k], 1e-9, "matrix", 1);
        for (int t = 0; degree == 2 && t < 6; t++)
            for (int k = 0; k < 3; k++)
                assert_near(fit.matrix[t][k], matrix_2[t][k], 1e-8, "matrix", 2);
    }
}

/* The degree by patches left out; twice the light, twice the XYZ, in any degree. */
static void test_degree(void **state)
{
    (void)state;
    ColourFit fit;
    assert_true(colour_fit(&fit, patch, PATCHES));
    assert_int_equal(fit.degree, 1);
    assert_false(fit.toned);
    for (int degree = 1; degree <= FIT_DEGREES; degree++) {
        double one[FIT_TERMS], two[FIT_TERMS];
        const double rgb[3] = {0.2, 0.05, 0.4}, twice[3] = {0.4, 0.1, 0.8};
        static const int terms[FIT_DEGREES] = {3, 6, 13, 22};
        assert_int_equal(root_polynomial(rgb, degree, one), terms[degree - 1]);
        root_polynomial(twice, degree, two);
        for (int t = 0; t < terms[degree - 1]; t++) assert_true(fabs(two[t] - 2 * one[t]) < 1e-15);
    }
    assert_false(colour_fit(&fit, patch, FIT_PATCHES_LEAST - 1));
}

/* A camera's S curve is seen and taken back. */
static void test_tone(void **state)
{
    (void)state;
    ColourFit fit;
    FitPatch curved[PATCHES];
    for (int i = 0; i < PATCHES; i++) {
        curved[i] = patch[i];
        for (int c = 0; c < 3; c++) curved[i].light[c] = pow(patch[i].light[c], 1.25);
    }
    assert_true(colour_fit(&fit, curved, PATCHES));
    assert_true(fit.toned);
    if (!(fit.mean < 1.2 * left_out[0].mean))
        fail_msg("%.2f with a curve, %.2f without one", fit.mean, left_out[0].mean);
}

/* A picture in narrower colours, in which four yellows have no blue: they do not count in what a
 * fit is judged by, and yet it is nearer to them than one that has never seen them. */
static void test_narrow(void **state)
{
    (void)state;
    ColourFit fit, without;
    FitPatch clipped[PATCHES], rest[PATCHES];
    int others = 0;
    double mean = 0, worst = 0, near = 0, far = 0;
    for (int i = 0; i < PATCHES; i++) {
        clipped[i] = patch[i];
        clipped[i].light[2] = fmax(0, patch[i].light[2] - 0.05 * patch[i].light[0]);
        clipped[i].narrow = !(clipped[i].light[2] > 0);
        if (!clipped[i].narrow) rest[others++] = clipped[i];
    }
    assert_int_equal(others, PATCHES - 4);
    assert_true(colour_fit(&fit, clipped, PATCHES));
    assert_true(colour_fit(&without, rest, others));
    for (int i = 0; i < PATCHES; i++) {
        const FitPatch *p = &clipped[i];
        if (p->narrow) {
            near += delta_e_2000(colour_fit_lab(&fit, p->light), p->lab) / 4;
            far += delta_e_2000(colour_fit_lab(&without, p->light), p->lab) / 4;
            continue;
        }
        mean += fit.left_out[i] / others;
        worst = fmax(worst, fit.left_out[i]);
    }
    assert_true(fabs(fit.mean - mean) < 1e-12 && fit.worst == worst);
    if (!(near < 2 && near < far)) fail_msg("%.2f with them, %.2f without", near, far);
    for (int i = 0; i < PATCHES; i++) clipped[i].narrow = true;
    assert_false(colour_fit(&fit, clipped, PATCHES));
}

/* Leverages of all patches add up to the number of terms, as the trace of a projection does; a blue
 * twice as pure as the purest patch is drawn out, and its error says so. */
static void test_leverage(void **state)
{
    (void)state;
    static const int terms[] = {3, 6, 13};
    static const double pure[3] = {0.002, 0.004, 0.2}, amid[3] = {0.15, 0.15, 0.1};
    for (int degree = 1; degree <= 3; degree++) {
        ColourFit fit;
        double sum = 0;
        assert_true(colour_fit_form(&fit, patch, PATCHES, degree, false));
        for (int i = 0; i < PATCHES; i++) {
            const double part = colour_fit_leverage(&fit, patch[i].light, patch[i].lab);
            assert_true(part > 0 && part < 1 + 1e-9);
            sum += part;
        }
        assert_true(fabs(sum - terms[degree - 1]) < 1e-8);
        const Lab far = colour_fit_lab(&fit, pure), near = colour_fit_lab(&fit, amid);
        if (degree == 1) continue; /* a matrix alone is not drawn out so far */
        const double drawn_out = colour_fit_leverage(&fit, pure, far);
        if (!(drawn_out > 3 && colour_fit_leverage(&fit, amid, near) < 1))
            fail_msg("degree %d: %.2f", degree, drawn_out);
        assert_true(colour_fit_error(&fit, pure, far) > 2 * colour_fit_error(&fit, amid, near));
    }
}

/* Amid the patches the fit itself tells; beyond them a simpler one, which may be less wrong. */
static void test_drawn_out(void **state)
{
    (void)state;
    static const double pure[3] = {0.002, 0.004, 0.2}, amid[3] = {0.15, 0.15, 0.1};
    ColourFit fit, simpler;
    Lab lab;
    double error;
    assert_true(colour_fit_form(&fit, patch, PATCHES, 3, false));
    assert_true(colour_fit_form(&simpler, patch, PATCHES, 2, false));
    assert_true(colour_fit_read(&fit, amid, &lab, &error) < 1);
    const Lab near = colour_fit_lab(&fit, amid), far = colour_fit_lab(&simpler, pure);
    assert_memory_equal(&lab, &near, sizeof lab);
    assert_true(error == colour_fit_error(&fit, amid, near));
    const double leverage = colour_fit_read(&fit, pure, &lab, &error);
    assert_memory_equal(&lab, &far, sizeof lab);
    assert_true(leverage == colour_fit_leverage(&simpler, pure, far));
    assert_true(error < colour_fit_error(&fit, pure, colour_fit_lab(&fit, pure)));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_least_squares), cmocka_unit_test(test_fits),
        cmocka_unit_test(test_degree),        cmocka_unit_test(test_tone),
        cmocka_unit_test(test_narrow),        cmocka_unit_test(test_drawn_out),
        cmocka_unit_test(test_leverage)};
    return cmocka_run_group_tests(tests, patches_make, NULL);
}
