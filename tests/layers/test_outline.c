/* Outlines from strokes: a table of small pictures by formula, whose areas, sums and chances were
 * worked out by a direct solver in double precision elsewhere; and the two open pictures
 * against labels made by scikit-image's random_walker and by a sparse factorisation of SciPy
 * (tests/data/layers/reference.py). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/memory.h"
#include "base/raster.h"
#include "layers/cell_labels.h"
#include "layers/geodesic.h"
#include "layers/outline.h"
#include "support/pictures.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SIDE = 32, COUNT = SIDE * SIDE };

/* ---- pictures by formula ---- */

typedef enum Case { A, B, C, C_PLUS, D, E, CASES } Case;

static bool in_disc(int x, int y, double column, double row, double radius)
{
    return hypot(x - column, y - row) < radius;
}

static bool in_figure(Case c, int x, int y)
{
    const bool disc = in_disc(x, y, 15.5, 15.5, 10);
    switch (c) {
    case B:
        return disc && !(fabs(y - 15.5) < 3 && x > 15.5);
    case C:
    case C_PLUS:
        return disc && !in_disc(x, y, 15.5, 15.5, 4);
    case D:
        return disc || in_disc(x, y, 27.5, 4.5, 2.6);
    case E:
        return disc || (fabs(x - 15.5) < 4 && y > 15);
    default:
        return disc;
    }
}

static uint8_t stroke_at(Case c, int x, int y)
{
    const bool gap = c == E && y == 30 && x > 8 && x < 23;
    if ((y == 1 || y == 30) && x >= 1 && x <= 30 && !gap) return 0;
    if (c == C_PLUS && (x == 15 || x == 16) && (y == 15 || y == 16)) return 0;
    if ((y == 10 || y == 11) && x >= 12 && x <= 19) return 1;
    return LABEL_NONE;
}

static void paint_case(Case c, LabPixels *pixels, uint8_t stroke[COUNT])
{
    assert_int_equal(lab_pixels_reserve(pixels, SIDE, SIDE, NULL), 0);
    for (int i = 0; i < COUNT; i++) {
        const int x = i % SIDE, y = i / SIDE, m = in_figure(c, x, y);
        pixels->lab[0][i] = (float)(50 + 3 * sin(1.7 * x + 0.6 * y) + 20 * m);
        pixels->lab[1][i] = (float)(6 * m);
        pixels->lab[2][i] = 0;
        stroke[i] = stroke_at(c, x, y);
    }
    lab_pixels_compare(pixels, 1);
}

static WalkerOptions walker_of(double g)
{
    return (WalkerOptions){
        .sigma = 2.5, .floor = 0.001, .length = g > 0 ? 1 / sqrt(g) : 0, .tolerance = 1e-6};
}

static const OutlineOptions plain = {
    .walker = {2.5, 0.001, 18.257418583505537, 1e-6}, .smooth = 0, .coarse = 4096};

typedef struct Wanted {
    int geodesic;
    double distance, sum0;
    int area;
    double sum, at[3]; /* chances at (15,15), (24,15), (28,15) */
    int refused, last, first, end;
} Wanted;

static const Wanted wanted[CASES] = {
    [A] = {316, 4963.10, 312.770, 316, 313.871, {.98919, .97340, .01053}, 0, 316, 6, 25},
    [B] = {257, 5943.34, 252.753, 256, 254.613, {.97692, .02960, .01478}, 0, 256, 6, 15},
    [C] = {316, 6293.34, 306.642, 264, 266.503, {.16370, .95648, .01035}, 52, 316, 6, 25},
    [C_PLUS] = {264, 5372.36, 253.290, 264, 258.040, {0, .95501, .01033}, 0, 264, 6, 25},
    [D] = {316, 5584.13, 313.576, 340, 333.119, {.98921, .97354, .01868}, 24, 316, 6, 25},
    [E] = {366, 5847.57, 360.718, 366, 363.031, {.98939, .97361, .01123}, 0, 366, 6, 25},
};

static void about(Case c, const char *what, double value, double right, double within)
{
    if (!(fabs(value - right) <= within))
        fail_msg("case %d, %s: %.6g, not %.6g +- %g", (int)c, what, value, right, within);
}

static void the_nearest_stroke(void **state)
{
    (void)state;
    for (Case c = A; c < CASES; c++) {
        LabPixels pixels;
        uint8_t label[COUNT];
        float distance[COUNT];
        double sum = 0;
        int area = 0;
        paint_case(c, &pixels, label);
        assert_int_equal(geodesic_spread(&pixels, 0.15, label, distance, NULL), STATUS_OK);
        for (int i = 0; i < COUNT; i++) {
            area += label[i] == 1;
            sum += (double)distance[i];
        }
        about(c, "area", area, wanted[c].geodesic, 0);
        about(c, "distances", sum, wanted[c].distance, 0.05);
        lab_pixels_clear(&pixels);
    }
}

static double walk(Case c, double g, float chance[COUNT])
{
    LabPixels pixels;
    uint8_t stroke[COUNT];
    double sum = 0;
    paint_case(c, &pixels, stroke);
    memset(chance, 0, COUNT * sizeof *chance);
    const WalkerOptions options = walker_of(g);
    assert_int_equal(
        random_walker(&options, &(StrokedPixels){&pixels, stroke, 2, 1}, chance, NULL, NULL), 0);
    for (int i = 0; i < COUNT; i++) sum += 1 - (double)chance[i];
    lab_pixels_clear(&pixels);
    return sum;
}

static void chances_of_a_walker(void **state)
{
    (void)state;
    for (Case c = A; c < CASES; c++) {
        static const int at[3] = {15 * SIDE + 15, 15 * SIDE + 24, 15 * SIDE + 28};
        float chance[COUNT];
        int area = 0;
        about(c, "sum without prior", walk(c, 0, chance), wanted[c].sum0, 0.05);
        about(c, "sum", walk(c, 0.003, chance), wanted[c].sum, 0.05);
        for (int i = 0; i < COUNT; i++) area += 1 - chance[i] > chance[i];
        about(c, "area", area, wanted[c].area, 0);
        for (int k = 0; k < 3; k++)
            about(c, "chance", 1 - (double)chance[at[k]], wanted[c].at[k], 1e-3);
    }
}

static void pieces_without_a_stroke_are_refused(void **state)
{
    (void)state;
    for (Case c = A; c < CASES; c++) {
        LabPixels pixels;
        Outline outline;
        uint8_t stroke[COUNT];
        int area = 0, refused = 0, first = SIDE, end = -1;
        paint_case(c, &pixels, stroke);
        assert_int_equal(
            outline_find(&plain, &(StrokedPixels){&pixels, stroke, 2, 1}, &outline, NULL, NULL), 0);
        for (int i = 0; i < COUNT; i++) {
            area += outline.label[i] == 1;
            refused += outline.refused[i] != LABEL_NONE;
            if (stroke[i] == LABEL_NONE && outline.margin[i] < 0.5f)
                fail_msg("case %d: margin %g", (int)c, (double)outline.margin[i]);
        }
        for (int x = 0; x < SIDE; x++) {
            if (outline.label[15 * SIDE + x] != 1) continue;
            first = x < first ? x : first;
            end = x;
        }
        about(c, "refused", refused, wanted[c].refused, 0);
        about(c, "area", area, wanted[c].last, 0);
        about(c, "first column", first, wanted[c].first, 0);
        about(c, "last column", end, wanted[c].end, 0);
        outline_clear(&outline);
        lab_pixels_clear(&pixels);
    }
}

/* ---- pictures of the world ---- */

typedef struct Scene {
    LabPixels pixels;
    uint8_t *stroke;
    int labels;
} Scene;

/* The index of most of four pixels, the lowest of several; 0 counts for none. */
static int index_of_four(const Raster *r, int column, int row)
{
    int count[256] = {0}, best = 0;
    for (int i = 0; i < 4; i++)
        count[r->sample[(2 * row + i / 2) * (int)r->width + 2 * column + i % 2]]++;
    count[0] = 0;
    for (int k = 1; k < 256; k++)
        if (count[k] > count[best]) best = k;
    return best;
}

static void scene_init(Scene *s, const char *name)
{
    char path[200];
    Image image;
    Raster raster;
    snprintf(path, sizeof path, "tests/data/pictures/%s.png", name);
    image_read(&image, path, 2);
    assert_int_equal(lab_pixels_init(&s->pixels, &image, 0.75, 2, NULL), 0);
    snprintf(path, sizeof path, "tests/data/layers/%s-strokes.png", name);
    assert_int_equal(raster_read_indices(&raster, path, 1e9, NULL), 0);
    s->stroke = malloc(lab_pixels_count(&s->pixels));
    s->labels = 0;
    for (int row = 0; row < image.rows; row++)
        for (int column = 0; column < image.columns; column++) {
            const int index = index_of_four(&raster, column, image.rows - 1 - row);
            s->stroke[row * image.columns + column] = index ? (uint8_t)(index - 1) : LABEL_NONE;
            s->labels = index > s->labels ? index : s->labels;
        }
    raster_clear(&raster);
    image_clear(&image);
}

static void scene_clear(Scene *s)
{
    lab_pixels_clear(&s->pixels);
    free(s->stroke);
}

/* The least overlap of a label, intersection over union. */
static double overlap(const Scene *s, const uint8_t *label, const char *path)
{
    Raster r;
    double least = 1;
    assert_int_equal(raster_read_indices(&r, path, 1e9, NULL), 0);
    for (int l = 0; l < s->labels; l++) {
        double both = 0, either = 0;
        for (uint32_t y = 0; y < r.height; y++)
            for (uint32_t x = 0; x < r.width; x++) {
                const bool ours = label[(r.height - 1 - y) * r.width + x] == l;
                const bool theirs = r.sample[y * r.width + x] == l + 1;
                both += ours && theirs;
                either += ours || theirs;
            }
        least = fmin(least, both / either);
    }
    raster_clear(&r);
    return least;
}

static void likeliest(const Scene *s, const WalkerOptions *options, uint8_t *label)
{
    const size_t count = lab_pixels_count(&s->pixels), labels = (size_t)s->labels;
    float *chance = calloc((labels - 1) * count, sizeof *chance);
    assert_int_equal(random_walker(options, &(StrokedPixels){&s->pixels, s->stroke, s->labels, 2},
                                   chance, NULL, NULL),
                     0);
    for (size_t i = 0; i < count; i++) {
        float best = -1, rest = 1;
        for (size_t l = 0; l < labels; l++) {
            const float x = l < labels - 1 ? chance[l * count + i] : rest;
            rest -= x;
            if (x > best) best = x, label[i] = (uint8_t)l;
        }
    }
    free(chance);
}

static void labels_overlap_those_of_others(void **state)
{
    (void)state;
    static const char *const name[] = {"astronaut", "coffee"};
    const WalkerOptions walkers[] = {{2.5, 1e-6, 0, 1e-5}, {2.5, 0.001, 13.5, 1e-3}};
    static const char *const kind[] = {"walker", "prior"};
    for (size_t k = 0; k < 4; k++) {
        Scene s;
        char path[200];
        scene_init(&s, name[k / 2]);
        uint8_t *label = malloc(lab_pixels_count(&s.pixels));
        likeliest(&s, &walkers[k % 2], label);
        snprintf(path, sizeof path, "tests/data/layers/%s-%s.png", name[k / 2], kind[k % 2]);
        const double least = overlap(&s, label, path);
        if (least < 0.97) fail_msg("%s: overlap %.4f", path, least);
        free(label);
        scene_clear(&s);
    }
}

/* ---- properties ---- */

static void mirror(Scene *s)
{
    const size_t width = (size_t)s->pixels.columns;
    for (size_t row = 0; row < (size_t)s->pixels.rows; row++)
        for (size_t x = 0; x < width / 2; x++) {
            const size_t a = row * width + x, b = row * width + width - 1 - x;
            for (int k = 0; k < 3; k++) {
                const float keep = s->pixels.lab[k][a];
                s->pixels.lab[k][a] = s->pixels.lab[k][b];
                s->pixels.lab[k][b] = keep;
            }
            const uint8_t keep = s->stroke[a];
            s->stroke[a] = s->stroke[b];
            s->stroke[b] = keep;
        }
    lab_pixels_compare(&s->pixels, 1);
}

static void find(const Scene *s, int threads, Outline *outline)
{
    OutlineOptions options = OUTLINE_OPTIONS_DEFAULT;
    options.walker.tolerance = 1e-5;
    assert_int_equal(outline_find(&options,
                                  &(StrokedPixels){&s->pixels, s->stroke, s->labels, threads},
                                  outline, NULL, NULL),
                     0);
}

/* Sums run the other way in a mirrored picture, so pixels of hardly any margin may differ. */
static void a_mirrored_picture_is_mirrored(void **state)
{
    (void)state;
    Scene s;
    Outline one, other;
    scene_init(&s, "coffee");
    find(&s, 1, &one);
    mirror(&s);
    find(&s, 1, &other);
    const size_t width = (size_t)s.pixels.columns;
    size_t differ = 0;
    for (size_t i = 0; i < lab_pixels_count(&s.pixels); i++)
        differ += one.label[i] != other.label[i / width * width + width - 1 - i % width];
    if (differ > lab_pixels_count(&s.pixels) / 2000) fail_msg("%zu pixels differ", differ);
    outline_clear(&one);
    outline_clear(&other);
    scene_clear(&s);
}

static void threads_change_nothing(void **state)
{
    (void)state;
    Scene s;
    Outline one, other;
    scene_init(&s, "astronaut");
    const size_t count = lab_pixels_count(&s.pixels);
    find(&s, 1, &one);
    for (int threads = 2; threads <= 5; threads += 3) {
        find(&s, threads, &other);
        assert_memory_equal(one.label, other.label, count);
        assert_memory_equal(one.refused, other.refused, count);
        assert_memory_equal(one.margin, other.margin, count * sizeof *one.margin);
        outline_clear(&other);
    }
    outline_clear(&one);
    scene_clear(&s);
}

static void every_want_of_memory_is_told(void **state)
{
    (void)state;
    LabPixels pixels;
    uint8_t stroke[COUNT], cell[64];
    float share[2 * 64];
    OutlineOptions options = OUTLINE_OPTIONS_DEFAULT;
    options.coarse = 300;
    paint_case(D, &pixels, stroke);
    long n = 0;
    for (long left = -1; left < 0; n++) {
        Outline outline;
        Fault fault = {0};
        memory_fail_after(n);
        Status status =
            outline_find(&options, &(StrokedPixels){&pixels, stroke, 2, 1}, &outline, NULL, &fault);
        if (!status) {
            const LabelPicture picture = {SIDE, SIDE, outline.label, 0, 0, SIDE, SIDE};
            cell_shares(&picture, 2, 8, 8, 1, share);
            status = cell_labels(&CELL_LABELS_OF_STROKES, &(CellShares){2, 8, 8, 1, share, NULL},
                                 cell, &fault);
        }
        left = memory_countdown();
        memory_fail_after(-1);
        outline_clear(&outline);
        if (left >= 0) assert_int_equal(status, STATUS_OK);
        if (left < 0) assert_int_equal(status, STATUS_NO_RESOURCE);
        if (left < 0) assert_true(*fault.text);
    }
    assert_true(n > 20);
    lab_pixels_clear(&pixels);
}

/* ---- cells ---- */

/* 7 x 5 pixels over 3 x 2 cells: a cell is 7/3 x 5/2 pixels. */
static void shares_are_areas(void **state)
{
    (void)state;
    uint8_t label[35];
    float share[2 * 6];
    for (int i = 0; i < 35; i++) label[i] = i % 7 >= 2; /* from 2 on */
    const LabelPicture picture = {7, 5, label, 0, 0, 7, 5};
    cell_shares(&picture, 2, 3, 2, 1, share);
    for (int row = 0; row < 2; row++) {
        assert_true(fabs((double)share[3 * row] - 6.0 / 7) < 1e-6);
        assert_true(fabs((double)share[6 + 3 * row] - 1.0 / 7) < 1e-6);
        assert_true(fabs((double)share[3 * row + 1]) < 1e-6);
        assert_true(fabs((double)share[6 + 3 * row + 2] - 1) < 1e-6);
    }
}

/* A crumb goes to what is around it, unless a stroke made it; a stroke keeps its cell. */
static void crumbs_go_and_strokes_stay(void **state)
{
    (void)state;
    enum { WIDE = 12, HIGH = 8, CELLS = WIDE * HIGH };
    float share[2 * CELLS] = {0}, stroke[2 * CELLS] = {0};
    uint8_t label[CELLS];
    static const int crumb[] = {2 * WIDE + 2, 2 * WIDE + 3};
    const int kept = 5 * WIDE + 8, mast = 5 * WIDE + 2;
    for (int i = 0; i < CELLS; i++) share[i] = 1;
    for (int i = 0; i < 3; i++) {
        const int at = i < 2 ? crumb[i] : kept;
        share[at] = 0;
        share[CELLS + at] = 1;
    }
    stroke[CELLS + kept] = 0.2f;
    stroke[CELLS + mast] = 0.5f;
    const CellLabelOptions options = {.smooth = 0, .least = 6};
    assert_int_equal(
        cell_labels(&options, &(CellShares){2, WIDE, HIGH, 1, share, stroke}, label, NULL), 0);
    for (int i = 0; i < CELLS; i++) assert_int_equal(label[i], i == kept || i == mast);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_nearest_stroke),
        cmocka_unit_test(chances_of_a_walker),
        cmocka_unit_test(pieces_without_a_stroke_are_refused),
        cmocka_unit_test(labels_overlap_those_of_others),
        cmocka_unit_test(a_mirrored_picture_is_mirrored),
        cmocka_unit_test(threads_change_nothing),
        cmocka_unit_test(every_want_of_memory_is_told),
        cmocka_unit_test(shares_are_areas),
        cmocka_unit_test(crumbs_go_and_strokes_stay),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
