#include "eye/eye.h"

#include "base/memory.h"
#include "colour/delta_e.h"
#include "support/chance.h"
#include "support/faces.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#define NEAR(got, want, tolerance)                                                                 \
    assert_float_equal((float)(got), (float)(want), (float)(tolerance))

static void image_make(Image *image, int columns, int rows)
{
    if (image_init(image, columns, rows, NULL)) abort();
}

static void image_set(Image *image, int column, int row, Lab lab)
{
    const Xyz c = xyz_from_lab(lab);
    float *to = image->xyz + 3 * ((size_t)row * (size_t)image->columns + (size_t)column);
    to[0] = (float)c.x, to[1] = (float)c.y, to[2] = (float)c.z;
}

static void image_noise(Image *image, uint32_t seed)
{
    for (int row = 0; row < image->rows; row++)
        for (int column = 0; column < image->columns; column++)
            image_set(image, column, row,
                      (Lab){20.0 + 60.0 * chance_unit(&seed), 40.0 * chance_unit(&seed) - 20.0,
                            40.0 * chance_unit(&seed) - 20.0});
}

/* What is left of a wave of this frequency, from taps as fine as a 280th of a degree and
 * kernels that are not cut off. */
static double transfer(int plane, double frequency)
{
    static const double pitch = 1.0 / 280.0, support = 40.0;
    double sum = 0.0;
    for (int i = 0; i < EYE_PARTS && eye_parts[plane][i].weight != 0.0; i++) {
        const double sigma = eye_parts[plane][i].sigma;
        const int reach = eye_reach(sigma, pitch, 0.0, support);
        double *tap = malloc((2 * (size_t)reach + 1) * sizeof *tap);
        eye_taps(sigma, pitch, 0.0, support, reach, tap);
        for (int k = -reach; k <= reach; k++)
            sum += eye_parts[plane][i].weight * tap[k + reach] *
                   cos(2.0 * acos(-1.0) * frequency * pitch * k);
        free(tap);
    }
    return sum;
}

/* Against the transfer of Zhang & Wandell's kernels, worked out from their transforms. */
static void test_transfer(void **state)
{
    (void)state;
    static const double frequency[10] = {1, 2, 4, 6, 8, 10, 12, 15, 20, 30};
    static const double want[EYE_PLANES][10] = {
        {1.091, 1.029, 0.891, 0.755, 0.605, 0.455, 0.321, 0.169, 0.043, 0.001},
        {0.642, 0.580, 0.484, 0.357, 0.234, 0.135, 0.069, 0.020, 0.001, 0.000},
        {0.652, 0.508, 0.361, 0.205, 0.093, 0.033, 0.010, 0.001, 0.000, 0.000}};
    static const double half[EYE_PLANES] = {9.39, 3.72, 2.13};
    for (int p = 0; p < EYE_PLANES; p++) {
        for (int i = 0; i < 10; i++)
            NEAR(transfer(p, frequency[i]), want[p][i], 0.02 * want[p][i] + 0.0006);
        NEAR(transfer(p, half[p]), 0.5, 0.01);
    }
}

/* Cut or not, at any place in a cell, weights add up to 1. */
static void test_taps_sum(void **state)
{
    (void)state;
    for (int p = 0; p < EYE_PLANES; p++) {
        double weights = 0.0;
        for (int i = 0; i < EYE_PARTS && eye_parts[p][i].weight != 0.0; i++) {
            const double sigma = eye_parts[p][i].sigma;
            weights += eye_parts[p][i].weight;
            for (double offset = -0.5; offset <= 0.5; offset += 0.25) {
                double tap[401], sum = 0.0;
                const int reach = eye_reach(sigma, 0.02, 0.5, EYE_SUPPORT);
                assert_true(reach <= 200);
                eye_taps(sigma, 0.02, offset, EYE_SUPPORT, reach, tap);
                for (int k = 0; k <= 2 * reach; k++) sum += tap[k];
                NEAR(sum, 1.0, 1e-6);
            }
        }
        NEAR(weights, 1.0, 1e-6);
    }
}

/* Columns in turn of two colours, 10 mm wide: what is left of the fundamental, against a
 * worked table from the kernels' transforms. */
static void test_alternate_columns(void **state)
{
    (void)state;
    static const double distance[4] = {2000, 5000, 10000, 20000};
    static const double want[4][EYE_PLANES] = {
        {1.047, 0.589, 0.526}, {0.867, 0.462, 0.331}, {0.550, 0.194, 0.066}, {0.090, 0.006, 0.000}};
    enum { PLACES = 16 };
    for (int d = 0; d < 4; d++)
        for (int p = 0; p < EYE_PLANES; p++) {
            double left = 0.0, whole = 0.0;
            const double cell = eye_degrees(10.0, distance[d]);
            for (int s = 0; s < PLACES; s++) {
                const double offset = (s + 0.5) / PLACES - 0.5, wave = cos(acos(-1.0) * offset);
                whole += wave;
                for (int i = 0; i < EYE_PARTS && eye_parts[p][i].weight != 0.0; i++) {
                    const double sigma = eye_parts[p][i].sigma;
                    const int reach = eye_reach(sigma, cell, 0.5, 40.0);
                    double *tap = malloc((2 * (size_t)reach + 1) * sizeof *tap);
                    eye_taps(sigma, cell, offset, 40.0, reach, tap);
                    for (int k = -reach; k <= reach; k++)
                        left +=
                            eye_parts[p][i].weight * tap[k + reach] * (k % 2 ? -1.0 : 1.0) * wave;
                    free(tap);
                }
            }
            NEAR(left / whole, want[d][p], 0.02 * want[d][p] + 0.001);
        }
}

/* The opponent matrix as published, on D50 white; and its inverse. */
static void test_opponent(void **state)
{
    (void)state;
    double o[EYE_PLANES];
    eye_from_xyz((Xyz){96.42, 100.0, 82.49}, o);
    NEAR(o[0], 90.266, 6e-4);
    NEAR(o[1], -7.926, 6e-4);
    NEAR(o[2], -9.375, 6e-4);
    const Xyz back = eye_to_xyz(o);
    NEAR(back.x, 96.42, 1e-4);
    NEAR(back.y, 100.0, 1e-4);
    NEAR(back.z, 82.49, 1e-4);
}

/* Degrees by the arithmetic of the visual angle: 10 mm at 1 m and 10 m are 1.745 and
 * 17.453 to the degree. */
static void test_degrees(void **state)
{
    (void)state;
    NEAR(1.0 / eye_degrees(10.0, 1000.0), 1.745, 1e-3);
    NEAR(1.0 / eye_degrees(10.0, 10000.0), 17.453, 1e-3);
    assert_true(eye_degrees(10.0, 0.0) == 180.0);
}

/* At most so coarse: 28 samples a degree, but for the nearest faces. */
static void test_spacing(void **state)
{
    (void)state;
    for (double cell = 1e-4; cell < 0.17; cell *= 1.07) {
        const EyeSpacing s = eye_spacing(cell);
        assert_true(s.per_cell == 1 || s.stride == 1);
        assert_true((double)s.per_cell / ((double)s.stride * cell) >= 27.999);
    }
}

/* Large even faces differ just as their colours do. */
static void test_uniform(void **state)
{
    (void)state;
    const Lab one = {52.0, 18.0, -30.0}, two = {57.0, 5.0, -24.0};
    const double want = delta_e_2000(one, two);
    Image a, b;
    image_make(&a, 40, 30);
    image_make(&b, 40, 30);
    for (int row = 0; row < 30; row++)
        for (int column = 0; column < 40; column++) {
            image_set(&a, column, row, one);
            image_set(&b, column, row, two);
        }
    static const double distance[5] = {0, 1000, 5000, 16000, 200000};
    for (int d = 0; d < 5; d++) {
        const Viewpoint view = {8.0, 9.6, distance[d]};
        EyeResult result;
        assert_int_equal(
            eye_compare(&a, &b, &(EyeOptions){.viewpoint = view, .threads = 2}, &result, NULL),
            STATUS_OK);
        NEAR(result.mean, want, 2e-4);
        NEAR(result.max, want, 2e-4);
        NEAR(result.p95, want, 0.01);
    }
    image_clear(&a);
    image_clear(&b);
}

static int by_size(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return x < y ? -1 : x > y;
}

/* With the eye at the face, the measure is the plain mean over the cells. */
static void test_no_distance(void **state)
{
    (void)state;
    enum { COLUMNS = 37, ROWS = 23, CELLS = COLUMNS * ROWS };
    Image a, b;
    image_make(&a, COLUMNS, ROWS);
    image_make(&b, COLUMNS, ROWS);
    image_noise(&a, 1);
    image_noise(&b, 2);
    static double d[CELLS];
    double sum = 0.0;
    for (int i = 0; i < CELLS; i++) {
        d[i] = delta_e_2000(lab_from_xyz(image_at(&a, i % COLUMNS, i / COLUMNS)),
                            lab_from_xyz(image_at(&b, i % COLUMNS, i / COLUMNS)));
        sum += d[i];
    }
    qsort(d, CELLS, sizeof *d, by_size);
    const Viewpoint view = {8.0, 8.0, 0.0};
    EyeResult result;
    assert_int_equal(
        eye_compare(&a, &b, &(EyeOptions){.viewpoint = view, .threads = 1}, &result, NULL),
        STATUS_OK);
    NEAR(result.mean, sum / CELLS, 1e-5);
    NEAR(result.max, d[CELLS - 1], 1e-5);
    NEAR(result.p95, d[(int)(0.95 * CELLS)], 0.1);
    image_clear(&a);
    image_clear(&b);
}

/* A checkerboard against its mean in linear light fades as the viewer steps back. */
static void test_checkerboard(void **state)
{
    (void)state;
    Image board, mean;
    image_make(&board, 48, 48);
    image_make(&mean, 48, 48);
    const Lab one = {60.0, 25.0, 20.0}, two = {40.0, -10.0, -20.0};
    const Xyz p = xyz_from_lab(one), q = xyz_from_lab(two);
    const Lab mixed = lab_from_xyz((Xyz){0.5 * (p.x + q.x), 0.5 * (p.y + q.y), 0.5 * (p.z + q.z)});
    for (int row = 0; row < 48; row++)
        for (int column = 0; column < 48; column++) {
            image_set(&board, column, row, (row + column) % 2 ? one : two);
            image_set(&mean, column, row, mixed);
        }
    double last = INFINITY;
    for (double distance = 3000.0; distance < 60000.0; distance *= 1.3) {
        const Viewpoint view = {8.0, 8.0, distance};
        EyeResult result;
        assert_int_equal(eye_compare(&mean, &board, &(EyeOptions){.viewpoint = view, .threads = 2},
                                     &result, NULL),
                         STATUS_OK);
        assert_true(result.mean < last + 1e-9);
        last = result.mean;
    }
    assert_true(last < 0.05);
    image_clear(&board);
    image_clear(&mean);
}

enum { FINE = 12, SIDE = 9 };

/* One plane of a face of SIDE x SIDE cells, FINE samples a cell, blurred by the sampled
 * kernel in two dimensions: the textbook way, as an outside check of the exact one. */
static void blur_plainly(const double *cell, int plane, double degrees, double *out)
{
    const double step = degrees / FINE, half = 0.5 * EYE_SUPPORT;
    const int reach = (int)(half / step), wide = SIDE * FINE;
    double *kernel = calloc((size_t)(2 * reach + 1) * (size_t)(2 * reach + 1), sizeof *kernel);
    for (int i = 0; i < EYE_PARTS && eye_parts[plane][i].weight != 0.0; i++) {
        double sum = 0.0;
        const double s = eye_parts[plane][i].sigma;
        for (int pass = 0; pass < 2; pass++)
            for (int y = -reach; y <= reach; y++)
                for (int x = -reach; x <= reach; x++) {
                    const double e = exp(-(x * x + y * y) * step * step / (s * s));
                    if (pass)
                        kernel[(y + reach) * (2 * reach + 1) + x + reach] +=
                            eye_parts[plane][i].weight * e / sum;
                    else
                        sum += e;
                }
    }
    for (int row = 0; row < wide; row++)
        for (int column = 0; column < wide; column++) {
            double sum = 0.0;
            for (int y = -reach; y <= reach; y++)
                for (int x = -reach; x <= reach; x++) {
                    const int cx = eye_fold((int)floor((double)(column + x) / FINE), SIDE);
                    const int cy = eye_fold((int)floor((double)(row + y) / FINE), SIDE);
                    sum += kernel[(y + reach) * (2 * reach + 1) + x + reach] * cell[cy * SIDE + cx];
                }
            out[row * wide + column] = sum;
        }
    free(kernel);
}

static void test_plain_convolution(void **state)
{
    (void)state;
    Image image[2];
    static double seen[2][EYE_PLANES][SIDE * FINE * SIDE * FINE];
    const Viewpoint view = {8.0, 8.0, 2500.0};
    for (int s = 0; s < 2; s++) {
        image_make(&image[s], SIDE, SIDE);
        image_noise(&image[s], (uint32_t)s + 5);
        for (int p = 0; p < EYE_PLANES; p++) {
            double cell[SIDE * SIDE];
            for (int i = 0; i < SIDE * SIDE; i++) {
                double o[EYE_PLANES];
                eye_from_xyz(image_at(&image[s], i % SIDE, i / SIDE), o);
                cell[i] = o[p];
            }
            blur_plainly(cell, p, eye_degrees(8.0, 2500.0), seen[s][p]);
        }
    }
    double sum = 0.0;
    for (int i = 0; i < SIDE * FINE * SIDE * FINE; i++) {
        const double a[3] = {seen[0][0][i], seen[0][1][i], seen[0][2][i]};
        const double b[3] = {seen[1][0][i], seen[1][1][i], seen[1][2][i]};
        sum += delta_e_2000(lab_from_xyz(eye_to_xyz(a)), lab_from_xyz(eye_to_xyz(b)));
    }
    EyeResult result;
    assert_int_equal(eye_compare(&image[0], &image[1],
                                 &(EyeOptions){.viewpoint = view, .threads = 1}, &result, NULL),
                     STATUS_OK);
    const double want = sum / (SIDE * FINE * SIDE * FINE);
    NEAR(result.mean, want, 0.01 * want);
    image_clear(&image[0]);
    image_clear(&image[1]);
}

/* The map by cells has the measure's mean, on any number of threads the same bytes. */
static void test_cells_and_threads(void **state)
{
    (void)state;
    enum { COLUMNS = 31, ROWS = 22, CELLS = COLUMNS * ROWS };
    Image a, b;
    image_make(&a, COLUMNS, ROWS);
    image_make(&b, COLUMNS, ROWS);
    image_noise(&a, 3);
    image_noise(&b, 4);
    static const double distance[4] = {0.0, 3000.0, 15000.0, 40000.0};
    for (int d = 0; d < 4; d++) {
        const Viewpoint view = {8.0, 9.6, distance[d]};
        static float one[CELLS], many[CELLS];
        EyeResult first, other;
        assert_int_equal(
            eye_compare(&a, &b, &(EyeOptions){.viewpoint = view, .threads = 1, .cell_out = one},
                        &first, NULL),
            STATUS_OK);
        assert_int_equal(
            eye_compare(&a, &b, &(EyeOptions){.viewpoint = view, .threads = 5, .cell_out = many},
                        &other, NULL),
            STATUS_OK);
        assert_memory_equal(one, many, sizeof one);
        assert_memory_equal(&first, &other, sizeof first);
        double sum = 0.0;
        for (int i = 0; i < CELLS; i++) sum += (double)one[i];
        /* Strides count alike however wide the last is, so only then is it not exact. */
        NEAR(sum / CELLS, first.mean, distance[d] > 20000.0 ? 0.05 * first.mean : 1e-3);
    }
    image_clear(&a);
    image_clear(&b);
}

/* An even face looks as it is from anywhere; columns in turn fade, and keep their mean. */
static void test_view(void **state)
{
    (void)state;
    Image face, seen;
    image_make(&face, 64, 16);
    for (int row = 0; row < 16; row++)
        for (int column = 0; column < 64; column++)
            image_set(&face, column, row, (Lab){column % 2 ? 70.0 : 30.0, 0.0, 0.0});
    double last = INFINITY;
    for (double distance = 0.0; distance < 40000.0; distance = 2.0 * distance + 2000.0) {
        const Viewpoint view = {8.0, 8.0, distance};
        assert_int_equal(eye_view(&face, &view, 2, &seen, NULL), STATUS_OK);
        const double odd = image_at(&seen, 33, 8).y, even = image_at(&seen, 32, 8).y;
        const double want = image_at(&face, 33, 8).y + image_at(&face, 32, 8).y;
        NEAR(odd + even, want, 0.01);
        if (distance > 2000.0) assert_true(odd - even < last);
        last = odd - even;
        image_clear(&seen);
    }
    assert_true(last < 0.02);
    image_clear(&face);
}

static Rgb shown(const Image *seen, int column, int row)
{
    return linear_into_gamut(linear_from_xyz(image_at(seen, column, row)));
}

/* Black beside white has no coloured fringe from anywhere: the planes' white has some red-green
 * and blue-yellow of its own, which the kernels would spread farther than its luminance. */
static void test_neutral_edges(void **state)
{
    (void)state;
    Image face, seen;
    image_make(&face, 64, 16);
    for (int row = 0; row < 16; row++)
        for (int column = 0; column < 64; column++)
            image_set(&face, column, row, (Lab){column / 7 % 2 ? 98.0 : 3.0, 0.0, 0.0});
    for (double distance = 500.0; distance < 40000.0; distance *= 2.0) {
        assert_int_equal(eye_view(&face, &(Viewpoint){8.0, 8.0, distance}, 2, &seen, NULL),
                         STATUS_OK);
        for (int column = 0; column < 64; column++) {
            uint8_t rgb[3];
            srgb8_from_linear(shown(&seen, column, 8), rgb);
            assert_true(abs(rgb[0] - rgb[1]) <= 1 && abs(rgb[1] - rgb[2]) <= 1);
        }
        image_clear(&seen);
    }
    image_clear(&face);
}

/* Vivid, pale and black bricks of one hue (in linear light) keep it: the angle about the neutral
 * by red-green and blue-yellow, which are blurred by kernels of their own, turns a little. */
static void test_one_hue(void **state)
{
    (void)state;
    static const Rgb vivid[] = {
        {0.9, 0.3, 0.05}, {0.1, 0.3, 0.8}, {0.2, 0.6, 0.1}, {0.7, 0.1, 0.4}};
    const double pi = acos(-1.0);
    for (int v = 0; v < 4; v++) {
        Image face, seen;
        image_make(&face, 60, 16);
        const double want = atan2(vivid[v].b - vivid[v].g, vivid[v].r - vivid[v].g);
        for (int row = 0; row < 16; row++)
            for (int column = 0; column < 60; column++) {
                static const double strength[] = {1.0, 0.01, 0.4}, pale[] = {0.0, 0.0, 0.5};
                const double s = strength[column / 5 % 3], p = pale[column / 5 % 3];
                const Rgb c = {s * vivid[v].r + p, s * vivid[v].g + p, s * vivid[v].b + p};
                const Lab lab = lab_from_xyz(xyz_from_linear(c));
                image_set(&face, column, row, lab);
            }
        for (double distance = 1000.0; distance < 20000.0; distance *= 2.0) {
            assert_int_equal(eye_view(&face, &(Viewpoint){8.0, 8.0, distance}, 2, &seen, NULL),
                             STATUS_OK);
            for (int column = 0; column < 60; column++) {
                const Rgb c = shown(&seen, column, 8);
                double turn = atan2(c.b - c.g, c.r - c.g) - want;
                turn -= 2.0 * pi * floor(turn / (2.0 * pi) + 0.5);
                if (fmax(c.r, fmax(c.g, c.b)) - fmin(c.r, fmin(c.g, c.b)) < 0.02) continue;
                assert_true(fabs(turn) < 10.0 * pi / 180.0);
            }
            image_clear(&seen);
        }
        image_clear(&face);
    }
}

/* Mirrored beyond both edges, as often as it takes. */
static void test_fold(void **state)
{
    (void)state;
    static const int want[13] = {2, 2, 1, 0, 0, 1, 2, 2, 1, 0, 0, 1, 2};
    for (int i = -4; i < 9; i++) assert_int_equal(eye_fold(i, 3), want[i + 4]);
}

/* Every allocation fails in turn: a fault, and no leak for the sanitizer to find. */
static void test_allocations(void **state)
{
    (void)state;
    Image a, seen;
    image_make(&a, 9, 7);
    image_noise(&a, 9);
    Palette *palette = calloc(1, sizeof *palette);
    palette_add(palette, (Lab){50.0, 0.0, 0.0});
    Grid grid;
    assert_int_equal(grid_init(&grid, 9, 7, false, NULL), STATUS_OK);
    const Viewpoint view = {8.0, 8.0, 6000.0};
    for (long n = 0;; n++) {
        EyeResult result;
        Fault fault;
        memory_fail_after(n);
        const Status status = eye_measure(
            &a, palette, &grid, &(EyeOptions){.viewpoint = view, .threads = 1}, &result, &fault);
        const bool failed = memory_countdown() < 0;
        memory_fail_after(-1);
        assert_int_equal(status, failed ? STATUS_NO_RESOURCE : STATUS_OK);
        if (!failed) break;
    }
    for (long n = 0;; n++) {
        Fault fault;
        memory_fail_after(n);
        const Status status = eye_view(&a, &view, 1, &seen, &fault);
        const bool failed = memory_countdown() < 0;
        memory_fail_after(-1);
        assert_int_equal(status, failed ? STATUS_NO_RESOURCE : STATUS_OK);
        if (!failed) break;
    }
    image_clear(&seen);
    image_clear(&a);
    grid_clear(&grid);
    free(palette);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_transfer),
        cmocka_unit_test(test_taps_sum),
        cmocka_unit_test(test_alternate_columns),
        cmocka_unit_test(test_opponent),
        cmocka_unit_test(test_degrees),
        cmocka_unit_test(test_spacing),
        cmocka_unit_test(test_uniform),
        cmocka_unit_test(test_no_distance),
        cmocka_unit_test(test_checkerboard),
        cmocka_unit_test(test_plain_convolution),
        cmocka_unit_test(test_cells_and_threads),
        cmocka_unit_test(test_view),
        cmocka_unit_test(test_neutral_edges),
        cmocka_unit_test(test_one_hue),
        cmocka_unit_test(test_fold),
        cmocka_unit_test(test_allocations),
    };
    return cmocka_run_group_tests_name("eye", tests, NULL, NULL);
}
