/* Homographies against scikit-image 0.19.3 (BSD licence): ProjectiveTransform.estimate on the same
 * points, its matrices printed to 13 digits; and what must be refused. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "camera/homography.h"

#include <math.h>

static const struct {
    PlanePoint from[4], to[4];
    double h[9];
} outside[] = {
    {{{0, 0}, {6, 0}, {6, 4}, {0, 4}},
     {{412.5, 318.25}, {2710.75, 402}, {2588, 1977.5}, {530.25, 1854}},
     {3.675761100182e+02, 4.466007945278e+01, 4.125000000000e+02, 1.166481538713e+01,
      4.371627000103e+02, 3.182500000000e+02, -5.705268522888e-03, 2.870830637017e-02, 1}},
    {{{0, 0}, {1, 0}, {1, 1}, {0, 1}},
     {{10, 10}, {110, 12}, {105, 95}, {8, 88}},
     {9.311649765026e+01, -1.778382389315e+00, 1.000000000000e+01, 1.249072470937e+00,
      8.043779371754e+01, 1.000000000000e+01, -6.257729408855e-02, 2.770220133564e-02, 1}},
    {{{0, 0}, {600, 0}, {600, 400}, {0, 400}},
     {{3100, 200}, {3000, 2300}, {1500, 2100}, {1650, 320}},
     {-4.203703703704e-01, -2.906944444444e+00, 3.100000000000e+03, 3.305493827160e+00,
      4.392592592593e-01, 2.000000000000e+02, -8.456790123457e-05, 4.351851851852e-04, 1}},
    {{{0, 0}, {48, 0}, {48, 48}, {0, 48}},
     {{1203.2, 877.9}, {2764.4, 1015.3}, {2690.1, 2377.7}, {1111.6, 2544.8}},
     {4.539376714940e+01, -1.918570565183e+00, 1.203200000000e+03, 7.588899684120e+00,
      3.470364710842e+01, 8.779000000000e+02, 4.655175498986e-03, -9.209456504281e-06, 1}},
};

/* A grid of twelve points with noise. */
static const PlanePoint grid_from[12] = {{0, 0}, {2, 0}, {5, 0}, {9, 0}, {0, 3}, {2, 3},
                                         {5, 3}, {9, 3}, {0, 7}, {2, 7}, {5, 7}, {9, 7}};
static const PlanePoint grid_to[12] = {{49.44, 39.07},   {247.84, 24.1},   {540.01, 0.08},
                                       {916.6, -31.44},  {84.02, 316.68},  {275.72, 296.82},
                                       {557.42, 272.55}, {925.1, 236.12},  {125.18, 658.06},
                                       {309.39, 638.8},  {581.15, 610.48}, {934.86, 571.92}};
static const double grid_h[9] = {9.994406507507e+01,  1.201887983923e+01, 4.996574777302e+01,
                                 -8.065779530745e+00, 9.502664144824e+01, 4.007151100886e+01,
                                 3.911489416799e-03,  1.010591151784e-02, 1};

static void assert_matrix(const Homography *got, const double want[9])
{
    for (int i = 0; i < 9; i++)
        if (fabs(got->h[i] - want[i]) > 1e-9 * (1e-3 + fabs(want[i])))
            fail_msg("element %d is %.13g, scikit-image has %.13g", i, got->h[i], want[i]);
}

static void test_against_scikit_image(void **state)
{
    (void)state;
    Homography h;
    for (size_t i = 0; i < sizeof outside / sizeof *outside; i++) {
        assert_true(homography_fit(&h, outside[i].from, outside[i].to, 4));
        assert_matrix(&h, outside[i].h);
    }
    assert_true(homography_fit(&h, grid_from, grid_to, 12));
    assert_matrix(&h, grid_h);
}

/* Corners go to corners within a billionth of a pixel, and back. */
static void test_there_and_back(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof outside / sizeof *outside; i++) {
        Homography there, back;
        assert_true(homography_fit(&there, outside[i].from, outside[i].to, 4));
        assert_true(homography_invert(&there, &back));
        for (int k = 0; k < 4; k++) {
            const PlanePoint to = homography_apply(&there, outside[i].from[k]);
            const PlanePoint from = homography_apply(&back, to);
            assert_true(hypot(to.x - outside[i].to[k].x, to.y - outside[i].to[k].y) < 1e-9);
            assert_true(hypot(from.x - outside[i].from[k].x, from.y - outside[i].from[k].y) < 1e-9);
        }
    }
}

static void test_refused(void **state)
{
    (void)state;
    const PlanePoint square[4] = {{0, 0}, {1, 0}, {1, 1}, {0, 1}};
    const PlanePoint same[4] = {{5, 5}, {5, 5}, {5, 5}, {5, 5}};
    const PlanePoint line[4] = {{0, 0}, {100, 50}, {200, 100}, {30, 300}};
    const PlanePoint twice[4] = {{0, 0}, {0, 0}, {200, 100}, {30, 300}};
    const PlanePoint crossed[4] = {{0, 0}, {100, 0}, {0, 100}, {100, 100}};
    const PlanePoint dented[4] = {{0, 0}, {100, 0}, {20, 20}, {0, 100}};
    const PlanePoint *bad[] = {same, line, twice, crossed, dented};
    Homography h;
    assert_false(homography_fit(&h, square, square, 3));
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        assert_false(homography_fit(&h, square, bad[i], 4));
        assert_false(quad_is_convex(bad[i]));
    }
    assert_true(quad_is_convex(outside[2].to));
    assert_true(quad_area(square) == 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_against_scikit_image),
                                       cmocka_unit_test(test_there_and_back),
                                       cmocka_unit_test(test_refused)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
