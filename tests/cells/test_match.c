/* The nearest colour against a plain loop over delta_e_2000. */
#include "base/bands.h"
#include "base/memory.h"
#include "cells/match.h"
#include "cells/nearest_face.h"
#include "colour/delta_e.h"
#include "support/chance.h"
#include "support/patches.h"
#include "support/pictures.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

static int plain_nearest(const Palette *palette, Lab lab)
{
    int best = 0;
    double least = INFINITY;
    for (int i = 0; i < palette->count; i++) {
        const double e = delta_e_2000(lab, palette->colour[i].lab);
        if (e < least) {
            least = e;
            best = i;
        }
    }
    return best;
}

typedef struct Plain {
    const Palette *palette;
    const Lab *lab;
    uint8_t *nearest;
} Plain;

static void plain_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    const Plain *p = context;
    for (int i = begin; i < end; i++) p->nearest[i] = (uint8_t)plain_nearest(p->palette, p->lab[i]);
}

static void assert_same_as_plain(const Palette *palette, const Lab *lab, int count)
{
    uint8_t *plain = malloc((size_t)count), *found = malloc((size_t)count);
    assert_true(plain && found);
    bands_run(2, count, 500, plain_rows, &(Plain){palette, lab, plain});
    assert_int_equal(match_all(palette, lab, count, found, NULL), STATUS_OK);
    assert_memory_equal(plain, found, (size_t)count);
    free(plain);
    free(found);
}

static Lab *draw_many(int count, uint64_t seed)
{
    Lab *lab = malloc((size_t)count * sizeof *lab);
    assert_non_null(lab);
    for (int i = 0; i < count; i++) lab[i] = draw_srgb(&seed);
    return lab;
}

#ifdef __SANITIZE_ADDRESS__
enum { MANY = 40000 }; /* a plain loop under the sanitizers takes ten times as long */
#else
enum { MANY = 400000 };
#endif

static void many_colours(void **state)
{
    (void)state;
    static Palette palette;
    palette_of_patches(&palette);
    Lab *lab = draw_many(MANY, 1);
    assert_same_as_plain(&palette, lab, MANY);
    free(lab);
}

static void pictures(void **state)
{
    (void)state;
    static Palette palette;
    palette_of_draws(&palette, 48, 48);
    for (int p = 0; p < PICTURES; p++) {
        Image image;
        image_read(&image, picture_files[p], 3);
        const int count = image.columns * image.rows;
        Lab *lab = malloc((size_t)count * sizeof *lab);
        assert_non_null(lab);
        for (int i = 0; i < count; i++)
            lab[i] = lab_from_xyz(image_at(&image, i % image.columns, i / image.columns));
        assert_same_as_plain(&palette, lab, count);
        free(lab);
        image_clear(&image);
    }
}

/* Palettes of all kinds: one colour, few, many, with repeats, nearly alike, neutral. */
static void odd_palettes(void **state)
{
    (void)state;
    enum { COUNT = 3000 };
    static Palette palette;
    Lab *lab = draw_many(COUNT, 2);
    const int counts[] = {1, 2, 3, 5, 13, 100, 254};
    for (size_t i = 0; i < sizeof counts / sizeof *counts; i++) {
        palette_of_draws(&palette, counts[i], 100 + i);
        assert_same_as_plain(&palette, lab, COUNT);
    }
    palette_of_draws(&palette, 30, 3);
    for (int i = 0; i < 30; i++) palette_add(&palette, palette.colour[29 - i].lab);
    assert_same_as_plain(&palette, lab, COUNT);
    for (int i = 0; i < 60; i++) palette.colour[i].lab.b += 1e-12 * (i % 7);
    assert_same_as_plain(&palette, lab, COUNT);
    palette.count = 0;
    for (int i = 0; i <= 10; i++) palette_add(&palette, (Lab){10.0 * i, 0, 0});
    assert_same_as_plain(&palette, lab, COUNT);
    free(lab);
}

/* Greys on greys, colours of the palette themselves, and ties in the middle. */
static void neutrals_and_ties(void **state)
{
    (void)state;
    enum { COUNT = 20000 };
    static Palette palette;
    palette.count = 0;
    for (int i = 0; i < 8; i++) palette_add(&palette, (Lab){12.5 * i, 0, 0});
    for (int i = 0; i < 16; i++)
        palette_add(&palette, (Lab){50, 20 * cos(i * M_PI / 8), 20 * sin(i * M_PI / 8)});
    Lab *lab = malloc(COUNT * sizeof *lab);
    assert_non_null(lab);
    uint64_t seed = 6;
    for (int i = 0; i < COUNT; i++) {
        const double L = (double)(draw(&seed) % 401) / 4.0;
        const double chroma = i % 3 ? draw_between(&seed, 0, 1e-3) : 0.0;
        const double turn = draw_between(&seed, 0, 2 * M_PI);
        lab[i] = (Lab){L, chroma * cos(turn), chroma * sin(turn)};
        if (i % 5 == 0) lab[i] = palette.colour[draw(&seed) % 24].lab;
        if (i % 7 == 0) lab[i] = (Lab){50, 30 * cos(turn), 30 * sin(turn)};
    }
    assert_same_as_plain(&palette, lab, COUNT);
    free(lab);
}

/* Points half way between two colours of the palette, where CIEDE2000's own halves lie by
 * bisection: as near a tie as doubles come, and a little to either side. */
static void midpoints(void **state)
{
    (void)state;
    enum { COUNT = 60000 };
    static Palette palette;
    palette_of_draws(&palette, 48, 48);
    Lab *lab = malloc(COUNT * sizeof *lab);
    assert_non_null(lab);
    uint64_t seed = 11;
    for (int i = 0; i < COUNT; i++) {
        const Lab one = palette.colour[draw(&seed) % 48].lab,
                  two = palette.colour[draw(&seed) % 48].lab;
        double low = 0, high = 1;
        for (int step = 0; step < 60; step++) {
            const double t = (low + high) / 2;
            lab[i] = (Lab){one.L + t * (two.L - one.L), one.a + t * (two.a - one.a),
                           one.b + t * (two.b - one.b)};
            *(delta_e_2000(lab[i], one) < delta_e_2000(lab[i], two) ? &low : &high) = t;
        }
        const double away = i % 3 ? pow(10, draw_between(&seed, -12, -1)) : 0;
        lab[i].a += i % 2 ? away : -away;
    }
    assert_same_as_plain(&palette, lab, COUNT);
    free(lab);
}

/* An image's cells are asked for in single precision first: greys, near-greys, rows of one colour,
 * and colours along the borders between two of the palette. */
static void images_to_the_last_bit(void **state)
{
    (void)state;
    enum { COLUMNS = 210, ROWS = 150 };
    static Palette palette;
    Image image;
    Grid grid;
    palette_of_draws(&palette, 20, 3);
    for (int i = 0; i < 8; i++) palette_add(&palette, (Lab){12.5 * i, 0, 0});
    assert_int_equal(image_init(&image, COLUMNS, ROWS, NULL), STATUS_OK);
    assert_int_equal(grid_init(&grid, COLUMNS, ROWS, false, NULL), STATUS_OK);
    uint64_t seed = 4;
    for (int i = 0; i < COLUMNS * ROWS; i++) {
        const Lab one = palette.colour[draw(&seed) % 28].lab,
                  two = palette.colour[draw(&seed) % 28].lab;
        Lab lab = {(one.L + two.L) / 2, (one.a + two.a) / 2, (one.b + two.b) / 2};
        if (i % 3 == 0)
            lab.a = draw_between(&seed, -0.7, 0.7), lab.b = draw_between(&seed, -0.7, 0.7);
        const Xyz xyz = xyz_from_lab(lab);
        float *out = image.xyz + 3 * i;
        out[0] = (float)xyz.x;
        out[1] = (float)xyz.y;
        out[2] = (float)xyz.z;
        if (i % 7 < 3 && i > 0) memcpy(out, out - 3, 3 * sizeof *out);
    }
    const MatchTask task = {.palette = &palette, .image = &image, .threads = 2};
    assert_int_equal(match_image(&task, &grid, NULL), STATUS_OK);
    for (int i = 0; i < COLUMNS * ROWS; i++) {
        const Lab lab = lab_from_xyz(image_at(&image, i % COLUMNS, i / COLUMNS));
        assert_int_equal(grid.colour[i], plain_nearest(&palette, lab));
    }
    image_clear(&image);
    grid_clear(&grid);
}

/* Colours that no picture holds, and numbers that are none. */
static void far_out(void **state)
{
    (void)state;
    static Palette palette;
    palette_of_patches(&palette);
    const Lab lab[] = {
        {-50, 0, 0},         {200, 0, 0},       {50, 500, 0},    {50, 0, -500},
        {112, 159.9, 159.9}, {-16, -160, -160}, {112, 160, 160}, {111.9, 1, 1},
        {1e9, 1e9, 1e9},     {NAN, 0, 0},       {50, NAN, 0},    {-15.99, -159.99, 159.99},
    };
    assert_same_as_plain(&palette, lab, sizeof lab / sizeof *lab);
    /* A palette colour beyond what the bounds are good for. */
    palette.colour[3].lab = (Lab){150, 0, 0};
    palette.colour[5].lab = (Lab){50, 300, 0};
    Lab *many = draw_many(2000, 9);
    assert_same_as_plain(&palette, many, 2000);
    free(many);
}

static void threads_make_no_difference(void **state)
{
    (void)state;
    static Palette palette;
    palette_of_draws(&palette, 48, 48);
    Image image;
    image_read(&image, picture_files[0], 2);
    Grid grid[2];
    for (int i = 0; i < 2; i++)
        assert_int_equal(grid_init(&grid[i], image.columns, image.rows, false, NULL), STATUS_OK);
    for (int threads = 1; threads <= 4; threads++) {
        Grid *out = &grid[threads > 1];
        memset(out->colour, 255, (size_t)(out->columns * out->rows));
        const MatchTask task = {.palette = &palette, .image = &image, .threads = threads};
        assert_int_equal(match_image(&task, out, NULL), STATUS_OK);
        if (threads > 1)
            assert_memory_equal(grid[0].colour, out->colour, (size_t)(out->columns * out->rows));
    }
    for (int i = 0; i < grid->columns * grid->rows; i += 97)
        assert_int_equal(grid->colour[i],
                         plain_nearest(&palette, lab_from_xyz(image_at(&image, i % image.columns,
                                                                       i / image.columns))));
    grid_clear(&grid[0]);
    grid_clear(&grid[1]);
    image_clear(&image);
}

static bool at_once(void *self)
{
    (void)self;
    return true;
}

/* Regions that bar colours: of those that are left, the one that a plain loop finds. */
static void what_is_barred_is_left_out(void **state)
{
    (void)state;
    enum { COLUMNS = 40, ROWS = 30, REGIONS = 3 };
    static Palette palette;
    static Barred barred[REGIONS];
    static uint8_t region[COLUMNS * ROWS];
    uint32_t seed = 8;
    Image image;
    Grid grid;
    assert_int_equal(palette_default(&palette, NULL), STATUS_OK);
    assert_int_equal(image_init(&image, COLUMNS, ROWS, NULL), STATUS_OK);
    assert_int_equal(grid_init(&grid, COLUMNS, ROWS, false, NULL), STATUS_OK);
    for (int r = 1; r < REGIONS; r++)
        for (int c = 1; c < palette.count; c++) barred[r].colour[c] = chance(&seed) % 3 > 0;
    for (int i = 0; i < COLUMNS * ROWS; i++) {
        region[i] = (uint8_t)(chance(&seed) % REGIONS);
        for (int k = 0; k < 3; k++) image.xyz[3 * i + k] = (float)(chance(&seed) % 800) / 1000;
    }
    const NearestTask task = {.target = &image,
                              .palette = &palette,
                              .keep = {.offered = palette.count - 3,
                                       .region = region,
                                       .barred = barred,
                                       .regions = REGIONS},
                              .threads = 2};
    assert_int_equal(nearest_face(&task, &grid, NULL), STATUS_OK);
    for (int i = 0; i < COLUMNS * ROWS; i++) {
        const Lab lab = lab_from_xyz(image_at(&image, i % COLUMNS, i / COLUMNS));
        int best = 0;
        for (int c = 0; c < palette.count - 3; c++)
            if (!barred[region[i]].colour[c] && delta_e_2000(lab, palette.colour[c].lab) <
                                                    delta_e_2000(lab, palette.colour[best].lab))
                best = c;
        assert_int_equal(grid.colour[i], best);
    }
    grid_clear(&grid);
    image_clear(&image);
}

static void stops_when_told(void **state)
{
    (void)state;
    static Palette palette;
    palette_of_patches(&palette);
    Image image;
    Grid grid;
    Fault fault;
    const Voice voice = {.stopped = at_once};
    assert_int_equal(image_init(&image, 4, 4, NULL), STATUS_OK);
    assert_int_equal(grid_init(&grid, 4, 4, false, NULL), STATUS_OK);
    const MatchTask task = {.palette = &palette, .image = &image, .threads = 2, .voice = &voice};
    assert_int_equal(match_image(&task, &grid, &fault), STATUS_INTERRUPTED);
    grid_clear(&grid);
    image_clear(&image);
}

/* Each allocation failed in turn, those by which the table grows among them. */
static void without_memory(void **state)
{
    (void)state;
    enum { COUNT = 3000 };
    static Palette palette;
    palette_of_patches(&palette);
    Lab *lab = draw_many(COUNT, 5);
    uint8_t found[COUNT];
    long failed = 0;
    for (Status status = STATUS_INTERNAL; status != STATUS_OK; failed++) {
        Fault fault = {0};
        memory_fail_after(failed);
        status = match_all(&palette, lab, COUNT, found, &fault);
        memory_fail_after(-1);
        if (status == STATUS_OK) break;
        assert_int_equal(status, STATUS_NO_RESOURCE);
        assert_true(fault.text[0] != '\0');
    }
    assert_in_range(failed, 4, 60);
    free(lab);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(many_colours),
        cmocka_unit_test(pictures),
        cmocka_unit_test(odd_palettes),
        cmocka_unit_test(neutrals_and_ties),
        cmocka_unit_test(midpoints),
        cmocka_unit_test(images_to_the_last_bit),
        cmocka_unit_test(far_out),
        cmocka_unit_test(threads_make_no_difference),
        cmocka_unit_test(what_is_barred_is_left_out),
        cmocka_unit_test(stops_when_told),
        cmocka_unit_test(without_memory),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
