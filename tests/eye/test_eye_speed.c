/* The measure's short cuts against the long way round: few samples against many, rows in
 * single precision against sums in double, differences by four against the formula. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "cells/dither.h"
#include "colour/lab_row.h"
#include "eye/eye.h"
#include "eye/eye_blur.h"
#include "figures/measure.h"
#include "support/chance.h"
#include "support/faces.h"

static Palette palette;

/* A picture and the face of its cells by diffusion, which changes from cell to cell as
 * no other does. */
static void make_face(int columns, int rows, Image *picture, Grid *grid)
{
    palette_rings(&palette);
    assert_true(picture_read("tests/data/pictures/astronaut.png", columns, rows, picture));
    assert_int_equal(grid_init(grid, columns, rows, false, NULL), STATUS_OK);
    assert_int_equal(dither_floyd_steinberg(&palette, picture, &dither_defaults, grid, NULL),
                     STATUS_OK);
}

static int by_value(const void *left, const void *right)
{
    const double a = *(const double *)left, b = *(const double *)right;
    return a < b ? -1 : a > b;
}

/* The opponent planes of an image whose cells are parted into `parts` each way. */
static void parted_planes(const Image *image, int parts, float *plane[EYE_PLANES])
{
    const int columns = image->columns * parts, rows = image->rows * parts;
    for (int p = 0; p < EYE_PLANES; p++) plane[p] = calloc((size_t)(columns * rows), sizeof(float));
    for (int y = 0; y < rows; y++)
        for (int x = 0; x < columns; x++) {
            double o[EYE_PLANES];
            eye_from_xyz(image_at(image, x / parts, y / parts), o);
            for (int p = 0; p < EYE_PLANES; p++) plane[p][y * columns + x] = (float)o[p];
        }
}

/* Mean and 95th percentile over 8 x 8 even samples in each part of a cell, blurred in
 * double precision, Lab and CIEDE2000 by their formulas. */
static EyeResult long_way(const Image *one, const Image *two, double cell_degrees, int parts)
{
    enum { PER = 8 };
    const int columns = one->columns * parts, rows = one->rows * parts;
    const EyeSpacing even = {PER, 1};
    EyeAxis x, y;
    assert_int_equal(eye_axis_init(&x, columns, cell_degrees / parts, even, NULL), STATUS_OK);
    assert_int_equal(eye_axis_init(&y, rows, cell_degrees / parts, even, NULL), STATUS_OK);
    float *plane[2][EYE_PLANES];
    parted_planes(one, parts, plane[0]);
    parted_planes(two, parts, plane[1]);
    const size_t samples = (size_t)x.samples * (size_t)y.samples;
    double *scratch = calloc(eye_blur_scratch(&x), sizeof *scratch);
    double *all = calloc(samples, sizeof *all), sum = 0.0;
    double *row = calloc(6 * (size_t)x.samples, sizeof *row), *out[2][EYE_PLANES];
    for (int k = 0; k < 6; k++) out[k / 3][k % 3] = row + (size_t)k * (size_t)x.samples;
    for (int r = 0; r < y.samples; r++) {
        for (int s = 0; s < 2; s++) {
            const float *const from[EYE_PLANES] = {plane[s][0], plane[s][1], plane[s][2]};
            eye_blur_row(&x, &y, from, r, scratch, out[s]);
        }
        for (int i = 0; i < x.samples; i++) {
            const double a[3] = {out[0][0][i], out[0][1][i], out[0][2][i]};
            const double b[3] = {out[1][0][i], out[1][1][i], out[1][2][i]};
            const double d = delta_e_2000(lab_from_xyz(eye_to_xyz(a)), lab_from_xyz(eye_to_xyz(b)));
            sum += d;
            all[(size_t)r * (size_t)x.samples + (size_t)i] = d;
        }
    }
    qsort(all, samples, sizeof *all, by_value);
    const EyeResult result = {.mean = sum / (double)samples,
                              .p95 = all[(size_t)(0.95 * (double)samples)]};
    for (int k = 0; k < 6; k++) free(plane[k / 3][k % 3]);
    free(scratch);
    free(all);
    free(row);
    eye_axis_clear(&x);
    eye_axis_clear(&y);
    return result;
}

/* At cells from 0.7 degrees to 0.05: the mean to 0.2 % and the percentile to 1 % of many
 * times as many even samples. */
static void few_samples_do(void **state)
{
    (void)state;
    static const struct {
        double distance_mm;
        int parts, columns;
    } at[] = {{640.0, 4, 48},  {900.0, 3, 48},  {1250.0, 2, 60}, {1800.0, 2, 60},
              {2500.0, 1, 96}, {5000.0, 1, 96}, {9000.0, 1, 96}};
    for (size_t i = 0; i < sizeof at / sizeof *at; i++) {
        Image picture, face;
        Grid grid;
        make_face(at[i].columns, at[i].columns * 3 / 4, &picture, &grid);
        assert_int_equal(eye_face(&palette, &grid, &face, NULL), STATUS_OK);
        const Viewpoint view = {8.0, 8.0, at[i].distance_mm};
        EyeResult quick;
        assert_int_equal(eye_compare(&picture, &face,
                                     &(EyeOptions){.viewpoint = view, .threads = 2}, &quick, NULL),
                         STATUS_OK);
        const EyeResult slow =
            long_way(&picture, &face, eye_degrees(8.0, at[i].distance_mm), at[i].parts);
        assert_true(fabs(quick.mean / slow.mean - 1.0) < 2e-3);
        assert_true(fabs(quick.p95 / slow.p95 - 1.0) < 1e-2);
        image_clear(&picture);
        image_clear(&face);
        grid_clear(&grid);
    }
}

/* Rows in single precision against eye_blur_row, where samples are many, few and rare, on
 * a face as wide as a vector and on one that is no multiple of it. */
static void rows_are_the_sums(void **state)
{
    (void)state;
    static const double degrees[] = {0.6, 0.18, 0.05, 0.02, 0.003};
    for (int wide = 5; wide <= 64; wide += 59)
        for (int k = 0; k < 5; k++) {
            Image picture;
            assert_true(picture_read("tests/data/pictures/coffee.png", wide, 40, &picture));
            float *plane[EYE_PLANES];
            parted_planes(&picture, 1, plane);
            const float *const from[EYE_PLANES] = {plane[0], plane[1], plane[2]};
            EyeAxis x, y;
            const EyeSpacing spacing = eye_spacing(degrees[k]);
            assert_int_equal(eye_axis_init_mean(&x, wide, degrees[k], spacing, NULL), STATUS_OK);
            assert_int_equal(eye_axis_init_mean(&y, 40, degrees[k], spacing, NULL), STATUS_OK);
            const EyeRuns runs = eye_runs(&x);
            const size_t row = (size_t)runs.runs * (size_t)runs.pitch;
            float *line = calloc(eye_runs_scratch(&x), sizeof *line), *quick[EYE_PLANES];
            double *scratch = calloc(eye_blur_scratch(&x), sizeof *scratch), *slow[EYE_PLANES];
            for (int p = 0; p < EYE_PLANES; p++) {
                quick[p] = calloc(row, sizeof(float));
                slow[p] = calloc((size_t)x.samples, sizeof(double));
            }
            for (int r = 0; r < y.samples; r++) {
                eye_blur_runs(&x, &y, from, r, line, quick);
                eye_blur_row(&x, &y, from, r, scratch, slow);
                for (int p = 0; p < EYE_PLANES; p++)
                    for (int i = 0; i < x.samples; i++) {
                        const size_t at =
                            (size_t)(i % runs.runs) * (size_t)runs.pitch + (size_t)(i / runs.runs);
                        assert_true(fabs((double)quick[p][at] - slow[p][i]) < 2e-6);
                    }
            }
            for (int p = 0; p < EYE_PLANES; p++) {
                free(plane[p]);
                free(quick[p]);
                free(slow[p]);
            }
            free(line);
            free(scratch);
            eye_axis_clear(&x);
            eye_axis_clear(&y);
            image_clear(&picture);
        }
}

/* What the samples of a cell or stride stand for is the whole face. */
static void shares_are_the_face(void **state)
{
    (void)state;
    for (double degrees = 0.002; degrees < 3.0; degrees *= 1.3) {
        EyeAxis axis;
        assert_int_equal(eye_axis_init_mean(&axis, 37, degrees, eye_spacing(degrees), NULL),
                         STATUS_OK);
        double sum = 0.0;
        for (int i = 0; i < axis.samples; i++) sum += axis.share[eye_axis_phase(&axis, i)];
        assert_true(fabs(sum - 37.0) < 1e-9);
        eye_axis_clear(&axis);
    }
}

/* Lab and CIEDE2000 of random pairs, near and far, light and dark, against the formulas. */
static void differences_are_the_formula(void **state)
{
    (void)state;
    enum { COUNT = 4096 };
    static float xyz[2][3][COUNT], lab[2][3][COUNT], difference[COUNT];
    static const double same[3][3] = {{1.0, 0.0, 0.0}, {0.0, 1.0, 0.0}, {0.0, 0.0, 1.0}};
    static Quick quick;
    quick_init(&quick);
    uint32_t seed = 5;
    double sum = 0.0;
    for (int turn = 0; turn < 20; turn++) {
        const double scale = turn % 4 == 3 ? 0.01 : 1.0, near = turn % 2 ? 0.02 : 1.0;
        for (int i = 0; i < COUNT; i++)
            for (int k = 0; k < 3; k++) {
                const double v = scale * chance(&seed) / 0x1000000;
                xyz[0][k][i] = (float)v;
                xyz[1][k][i] = (float)(v + near * (scale * chance(&seed) / 0x1000000 - v));
            }
        LabRow row[2];
        for (int s = 0; s < 2; s++) {
            const float *const plane[3] = {xyz[s][0], xyz[s][1], xyz[s][2]};
            row[s] = (LabRow){lab[s][0], lab[s][1], lab[s][2]};
            lab_row(same, plane, COUNT, &row[s]);
        }
        lab_row_differences(&quick, &row[0], &row[1], COUNT, difference);
        for (int i = 0; i < COUNT; i++) {
            Lab exact[2];
            for (int s = 0; s < 2; s++) {
                exact[s] = lab_from_xyz(
                    (Xyz){(double)xyz[s][0][i], (double)xyz[s][1][i], (double)xyz[s][2][i]});
                assert_true(fabs((double)row[s].L[i] - exact[s].L) < 1e-4);
                assert_true(fabs((double)row[s].a[i] - exact[s].a) < 1e-3);
                assert_true(fabs((double)row[s].b[i] - exact[s].b) < 1e-3);
            }
            /* By the Lab that was given, as the formula jumps at opposite hues. */
            const Lab one = {(double)row[0].L[i], (double)row[0].a[i], (double)row[0].b[i]};
            const Lab two = {(double)row[1].L[i], (double)row[1].a[i], (double)row[1].b[i]};
            const double e = (double)difference[i] - delta_e_2000(one, two);
            assert_true(fabs(e) < 5e-3);
            sum += e;
        }
    }
    assert_true(fabs(sum / (20.0 * COUNT)) < 1e-4);
}

/* At no distance, the measure is the plain difference of the cells. */
static void at_the_face(void **state)
{
    (void)state;
    Image picture;
    Grid grid;
    make_face(75, 50, &picture, &grid);
    static double exact[75 * 50];
    double sum = 0.0;
    for (size_t i = 0; i < 75 * 50; i++) {
        const float *c = picture.xyz + 3 * i;
        const Lab lab = lab_from_xyz((Xyz){(double)c[0], (double)c[1], (double)c[2]});
        sum += exact[i] = delta_e_2000(lab, palette.colour[grid.colour[i]].lab);
    }
    qsort(exact, 75 * 50, sizeof *exact, by_value);
    Measures measures = {0};
    Image face;
    assert_int_equal(eye_face(&palette, &grid, &face, NULL), STATUS_OK);
    assert_int_equal(measure_cells(&picture, &face, 3, NULL, &measures, NULL), STATUS_OK);
    image_clear(&face);
    assert_true(fabs(measures.mean_de00 - sum / (75 * 50)) < 1e-4);
    assert_true(fabs(measures.p95_de00 - exact[3563 - 1]) < 1e-3); /* ceil(0.95 x 3750) */
    assert_true(fabs(measures.max_de00 - exact[75 * 50 - 1]) < 1e-3);
    image_clear(&picture);
    grid_clear(&grid);
}

/* Uniform faces: CIEDE2000 of the two colours at any distance, and none for the same. */
static void uniform_faces(void **state)
{
    (void)state;
    Image one, two;
    assert_int_equal(image_init(&one, 21, 13, NULL), STATUS_OK);
    assert_int_equal(image_init(&two, 21, 13, NULL), STATUS_OK);
    const Lab a = {52.0, 20.0, -31.0}, b = {61.0, 12.0, -40.0};
    const Xyz p = xyz_from_lab(a), q = xyz_from_lab(b);
    for (int i = 0; i < 3 * 21 * 13; i++) {
        one.xyz[i] = (float)(i % 3 == 0 ? p.x : i % 3 == 1 ? p.y : p.z);
        two.xyz[i] = (float)(i % 3 == 0 ? q.x : i % 3 == 1 ? q.y : q.z);
    }
    for (double distance = 0.0; distance < 2e5; distance = distance * 2.5 + 100.0) {
        const Viewpoint view = {8.0, 9.6, distance};
        EyeResult result;
        assert_int_equal(
            eye_compare(&one, &two, &(EyeOptions){.viewpoint = view, .threads = 2}, &result, NULL),
            STATUS_OK);
        const double exact = delta_e_2000(a, b);
        assert_true(fabs(result.mean - exact) < 1e-4);
        assert_true(fabs(result.p95 - exact) < 1.0 / 128.0);
        assert_true(fabs(result.max - exact) < 2e-4);
        assert_int_equal(
            eye_compare(&one, &one, &(EyeOptions){.viewpoint = view, .threads = 2}, &result, NULL),
            STATUS_OK);
        assert_true(result.mean == 0.0 && result.max == 0.0);
    }
    image_clear(&one);
    image_clear(&two);
}

/* Two references against one view of a face: what each comes to by itself. */
static void sides_are_compared_as_images_are(void **state)
{
    (void)state;
    Image picture, face;
    Grid grid;
    make_face(47, 31, &picture, &grid);
    assert_int_equal(eye_face(&palette, &grid, &face, NULL), STATUS_OK);
    const Image *const image[3] = {&picture, &face, &face};
    EyeSide side[3];
    for (int s = 0; s < 3; s++)
        assert_int_equal(eye_side_init(&side[s], image[s], 2, NULL, NULL), STATUS_OK);
    const EyeSide *const reference[2] = {&side[0], &side[1]};
    for (double distance = 0.0; distance < 1e5; distance = distance * 3.0 + 900.0) {
        const Viewpoint at = {8.0, 9.6, distance};
        EyeResult both[2], alone;
        assert_int_equal(eye_compare_sides(reference, 2, &side[2],
                                           &(EyeOptions){.viewpoint = at, .threads = 3}, both,
                                           NULL),
                         STATUS_OK);
        for (int r = 0; r < 2; r++) {
            assert_int_equal(eye_compare(image[r], &face,
                                         &(EyeOptions){.viewpoint = at, .threads = 2}, &alone,
                                         NULL),
                             STATUS_OK);
            assert_memory_equal(&both[r], &alone, sizeof alone);
        }
    }
    for (int s = 0; s < 3; s++) eye_side_clear(&side[s]);
    image_clear(&picture);
    image_clear(&face);
    grid_clear(&grid);
}

/* Byte for byte, sums, cells and views. */
static void threads_change_nothing(void **state)
{
    (void)state;
    Image picture, face, view[2];
    Grid grid;
    make_face(61, 43, &picture, &grid);
    assert_int_equal(eye_face(&palette, &grid, &face, NULL), STATUS_OK);
    static float cell[2][61 * 43];
    for (double distance = 0.0; distance < 1e5; distance = distance * 3.0 + 900.0) {
        const Viewpoint at = {8.0, 9.6, distance};
        EyeResult result[2];
        for (int threads = 2; threads <= 5; threads++) {
            for (int k = 0; k < 2; k++) {
                const int n = k ? threads : 1;
                assert_int_equal(
                    eye_compare(&picture, &face,
                                &(EyeOptions){.viewpoint = at, .threads = n, .cell_out = cell[k]},
                                &result[k], NULL),
                    STATUS_OK);
                assert_int_equal(eye_view(&face, &at, n, &view[k], NULL), STATUS_OK);
            }
            assert_memory_equal(&result[0], &result[1], sizeof result[0]);
            assert_memory_equal(cell[0], cell[1], sizeof cell[0]);
            assert_memory_equal(view[0].xyz, view[1].xyz, 3 * 61 * 43 * sizeof(float));
            image_clear(&view[0]);
            image_clear(&view[1]);
        }
        /* The mean of the cells is the mean. */
        double sum = 0.0;
        for (int i = 0; i < 61 * 43; i++) sum += (double)cell[0][i];
        assert_true(fabs(sum / (61 * 43) - result[0].mean) < 1e-4);
    }
    image_clear(&picture);
    image_clear(&face);
    grid_clear(&grid);
}

/* Each allocation fails in turn; nothing is lost, which a sanitizer tells. */
static void without_memory(void **state)
{
    (void)state;
    Image picture, view;
    Grid grid;
    make_face(12, 9, &picture, &grid);
    const Viewpoint at = {8.0, 8.0, 3000.0};
    Measures measures;
    EyeResult result[2];
    EyeSide side;
    assert_int_equal(eye_side_init(&side, &picture, 1, NULL, NULL), STATUS_OK);
    const EyeSide *const reference[2] = {&side, &side};
    Fault fault;
    for (int what = 0; what < 5; what++)
        for (long successes = 0, done = 0; !done; successes++) {
            memory_fail_after(successes);
            Status status;
            if (what == 0)
                status = eye_measure(&picture, &palette, &grid,
                                     &(EyeOptions){.viewpoint = at, .threads = 3}, result, &fault);
            else if (what == 1)
                status = measure_cells(&picture, &picture, 3, NULL, &measures, &fault);
            else if (what == 2)
                status =
                    eye_compare_sides(reference, 2, &side,
                                      &(EyeOptions){.viewpoint = at, .threads = 3}, result, &fault);
            else if (what == 3) {
                EyeSide made;
                status = eye_side_init(&made, &picture, 3, NULL, &fault);
                if (!status) eye_side_clear(&made);
            } else
                status = eye_view(&picture, &at, 3, &view, &fault);
            done = memory_countdown() >= 0;
            memory_fail_after(-1);
            assert_true(done ? status == STATUS_OK : status != STATUS_OK);
        }
    eye_side_clear(&side);
    image_clear(&view);
    image_clear(&picture);
    grid_clear(&grid);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(few_samples_do),
        cmocka_unit_test(rows_are_the_sums),
        cmocka_unit_test(shares_are_the_face),
        cmocka_unit_test(differences_are_the_formula),
        cmocka_unit_test(at_the_face),
        cmocka_unit_test(uniform_faces),
        cmocka_unit_test(sides_are_compared_as_images_are),
        cmocka_unit_test(threads_change_nothing),
        cmocka_unit_test(without_memory),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
