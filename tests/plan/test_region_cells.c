/* Regions by strokes, from outside: plans of the open photograph with few strokes on what is a
 * region and what is not. Outside sources: scikit-image's random walker from the same strokes
 * (tests/data/layers/reference.py); a disc by formula; a plan's own regions.png, given back as
 * regions that are drawn whole, which must give the same mural; and the check of the plan. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/raster.h"
#include "support/command.h"
#include "support/failing.h"

#include <math.h>
#include <png.h>
#include <stdbool.h>

#define SMALL "--book no --quote no --effort 0 "
#define DATA "%s/tests/data/"

static char top[PATH_MAX];

static void write_grey(const char *name, int wide, int high, const uint8_t *pixels)
{
    png_image image = {.version = PNG_IMAGE_VERSION,
                       .width = (png_uint_32)wide,
                       .height = (png_uint_32)high,
                       .format = PNG_FORMAT_GRAY};
    assert_true(png_image_write_to_file(&image, in_room(name), 0, pixels, 0, NULL));
}

static void write_text(const char *name, const char *text)
{
    FILE *file = fopen(in_room(name), "w");
    fputs(text, file);
    fclose(file);
}

static Raster read_indices(const char *path)
{
    Raster r;
    assert_int_equal(raster_read_indices(&r, path, 1e9, NULL), STATUS_OK);
    return r;
}

static void run(const char *options, int status)
{
    const int code = shell("rm -rf plan; rowlock plan %s " SMALL "--out plan", options);
    if (code != status) fail_msg("%s: %d, %s", options, code, command_said);
}

static void refused(const char *options, int status, const char *want)
{
    run(options, status);
    if (!strstr(command_said, want)) fail_msg("not '%s': %s", want, command_said);
}

/* ---- the photograph ---- */

/* Whoever stands in it is the region; what was ground there is in none. */
static void draw_astronaut(void)
{
    char path[PATH_MAX + 64];
    snprintf(path, sizeof path, DATA "layers/astronaut-strokes.png", top);
    Raster r = read_indices(path);
    for (size_t i = 0; i < (size_t)r.width * r.height; i++)
        r.sample[i] = r.sample[i] > 1 ? 7 : r.sample[i] ? 255 : 0;
    write_grey("strokes.png", (int)r.width, (int)r.height, r.sample);
    raster_clear(&r);
    write_text("who.ini", "[region who]\nindex = 7\ncare = 3\n");
}

static void plan_astronaut(const char *options)
{
    char all[PATH_MAX + 256];
    snprintf(all, sizeof all, DATA "pictures/astronaut.png --columns 96 --regions who.ini %s", top,
             options);
    run(all, 0);
}

/* Whether most of the reference's labels in a cell are a figure's; its picture is of half the
 * photograph's size. */
static bool is_figure(const Raster *r, int cells, int x, int y)
{
    int figure = 0, all = 0;
    const int side = (int)r->width;
    for (int v = y * side / cells; v < (y + 1) * side / cells; v++)
        for (int u = x * side / cells; u < (x + 1) * side / cells; u++, all++)
            figure += r->sample[(size_t)v * r->width + (size_t)u] > 1;
    return 2 * figure > all;
}

static void an_outline_is_that_of_the_reference(void **state)
{
    (void)state;
    char path[PATH_MAX + 64];
    int figure = 0, other = 0;
    draw_astronaut();
    plan_astronaut("--region-strokes strokes.png");
    assert_int_equal(shell("rowlock check plan"), 0);
    snprintf(path, sizeof path, DATA "layers/astronaut-walker.png", top);
    Raster found = read_indices(in_room("plan/regions.png")), wanted = read_indices(path);
    assert_int_equal(found.width, 96);
    for (int y = 0; y < 96; y++)
        for (int x = 0; x < 96; x++) {
            const bool in = found.sample[y * 96 + x] == 7, is = is_figure(&wanted, 96, x, y);
            figure += is;
            other += in != is;
        }
    print_message("%d cells of %d are not as in the reference\n", other, figure);
    assert_true(figure > 2000 && other < 0.08 * figure);
    raster_clear(&found);
    raster_clear(&wanted);
}

/* The cells are the same, and so is all that follows from them. */
static void what_was_found_may_be_given_back(void **state)
{
    (void)state;
    draw_astronaut();
    plan_astronaut("--region-strokes strokes.png --threads 1");
    assert_int_equal(shell("rm -rf one; mv plan one"), 0);
    plan_astronaut("--region-strokes strokes.png --threads 3");
    assert_int_equal(shell("diff -r one plan"), 0);
    plan_astronaut("--region-labels one/regions.png");
    assert_int_equal(shell("cmp one/cells.png plan/cells.png && cmp one/regions.png "
                           "plan/regions.png && cmp one/parts.csv plan/parts.csv"),
                     0);
}

/* ---- a disc ---- */

enum { SIDE = 48 };

/* A disc of radius 14.5 in the middle, and strokes on what `drawn` says: 1 the disc, 2 round it. */
static void draw_disc(const char *name, int drawn)
{
    static uint8_t rgb[SIDE][SIDE][3], stroke[SIDE][SIDE];
    memset(stroke, 0, sizeof stroke);
    for (int y = 0; y < SIDE; y++)
        for (int x = 0; x < SIDE; x++) {
            const bool in = hypot(x + 0.5 - SIDE / 2.0, y + 0.5 - SIDE / 2.0) < 14.5;
            memcpy(rgb[y][x], in ? "\xd0\x40\x30" : "\x30\x60\xa0", 3);
            if (in && (drawn & 1) && y == SIDE / 2 && x > 16 && x < 30) stroke[y][x] = 1;
            if (!in && (drawn & 2) && y == 3 && x > 5 && x < 40) stroke[y][x] = 255;
        }
    png_image image = {
        .version = PNG_IMAGE_VERSION, .width = SIDE, .height = SIDE, .format = PNG_FORMAT_RGB};
    assert_true(png_image_write_to_file(&image, in_room("disc.png"), 0, rgb, 0, NULL));
    write_grey(name, SIDE, SIDE, stroke[0]);
    write_text("disc.ini", "[region disc]\nindex = 1\ncare = 2\n");
}

/* Cells of the region in the plan, and those of them that lie off the disc. */
static int count_cells(int *off_out)
{
    Raster r = read_indices(in_room("plan/regions.png"));
    int cells = 0;
    *off_out = 0;
    for (int y = 0; y < (int)r.height; y++)
        for (int x = 0; x < (int)r.width; x++) {
            if (!r.sample[(size_t)y * r.width + (size_t)x]) continue;
            cells++;
            *off_out += hypot(x + 0.5 - SIDE / 2.0, y + 0.5 - SIDE / 2.0) > 15.2;
        }
    raster_clear(&r);
    return cells;
}

#define DISC "disc.png --columns 48 --regions disc.ini "

static void a_stroke_inside_and_one_outside_suffice(void **state)
{
    (void)state;
    int off;
    draw_disc("both.png", 3);
    run(DISC "--region-strokes both.png", 0);
    const int cells = count_cells(&off);
    assert_true(fabs(cells / (M_PI * 14.5 * 14.5) - 1) < 0.03);
    assert_int_equal(off, 0);
}

/* Between two flat colours an outline is certain; where all is of one colour, nothing tells where
 * it runs, and that is noted. */
static void an_outline_that_is_guessed_is_noted(void **state)
{
    (void)state;
    static uint8_t flat[SIDE][SIDE];
    draw_disc("both.png", 3);
    run(DISC "--region-strokes both.png", 0);
    if (strstr(command_said, "region disc:")) fail_msg("%s", command_said);
    memset(flat, 128, sizeof flat);
    write_grey("flat.png", SIDE, SIDE, flat[0]);
    run("flat.png --columns 48 --regions disc.ini --region-strokes both.png", 0);
    if (!strstr(command_said, "region disc: 100 % of its outline is guessed"))
        fail_msg("%s", command_said);
}

/* Without another stroke there is nothing to tell it from, in the picture or in a crop of it. */
static void a_stroke_alone_has_all_that_is_in_sight(void **state)
{
    (void)state;
    int off;
    draw_disc("alone.png", 1);
    run(DISC "--region-strokes alone.png", 0);
    assert_int_equal(count_cells(&off), SIDE * SIDE);
    draw_disc("both.png", 3);
    run("disc.png --columns 24 --crop 24x24+12+12 --regions disc.ini --region-strokes both.png", 0);
    assert_int_equal(count_cells(&off), 24 * 24);
    run("disc.png --columns 24 --crop 48x6+0+0 --regions disc.ini --region-strokes both.png", 0);
    assert_int_equal(count_cells(&off), 0);
    assert_non_null(strstr(command_said, "region disc has no cell of what the mural shows"));
    run("disc.png --columns 24 --crop 24x6+12+29 --regions disc.ini --region-strokes both.png", 0);
    assert_int_equal(count_cells(&off), 24 * 6);
    run("disc.png --columns 24 --crop 24x6+12+5 --regions disc.ini --region-strokes both.png", 0);
    assert_int_equal(count_cells(&off), 0);
    assert_non_null(strstr(command_said, "region disc has no cell of what the mural shows"));
}

static void refuses(void **state)
{
    (void)state;
    draw_disc("both.png", 3);
    draw_disc("outside.png", 2);
    write_text("other.ini", "[region other]\nindex = 2\n");
    refused("disc.png --columns 48 --region-strokes both.png", 64,
            "--region-strokes: nothing says what its regions are");
    refused("disc.png --columns 48 --regions disc.ini", 64,
            "nothing is drawn; add --region-strokes or --region-labels");
    refused("disc.png --columns 48 --regions other.ini --region-strokes both.png", 65,
            "index 1 is no region of other.ini; paint with 0, 255 or a region's index");
    refused("disc.png --columns 48 --regions disc.ini --region-labels both.png", 65,
            "index 255 is no region of disc.ini; paint with 0 or a region's index");
    refused("disc.png --columns 48 --regions disc.ini --region-strokes outside.png", 65,
            "outside.png: no pixel has index 1, that of region disc");
    refused("disc.png --columns 48 --regions disc.ini --region-strokes none.png", 66, "none.png: ");
}

/* A small plan whose allocations fail in turn. */
static void says_where_memory_runs_out(void **state)
{
    (void)state;
    draw_disc("both.png", 3);
    const char *const setting[][2] = {
        {"reference", "disc.png"},
        {"columns", "12"},
        {"out", "small"},
        {"book", "no"},
        {"quote", "no"},
        {"threads", "1"},
        {"effort", "0"},
        {"regions", "disc.ini"},
        {"region-strokes", "both.png"},
    };
    assert_int_equal(
        fail_allocations_from(setting, sizeof setting / sizeof *setting, "regions", command_room),
        STATUS_OK);
}

static int setup(void **state) { return getcwd(top, sizeof top) ? command_setup(state) : -1; }

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_outline_is_that_of_the_reference),
        cmocka_unit_test(what_was_found_may_be_given_back),
        cmocka_unit_test(a_stroke_inside_and_one_outside_suffice),
        cmocka_unit_test(an_outline_that_is_guessed_is_noted),
        cmocka_unit_test(a_stroke_alone_has_all_that_is_in_sight),
        cmocka_unit_test(refuses),
        cmocka_unit_test(says_where_memory_runs_out),
    };
    return cmocka_run_group_tests(tests, setup, command_teardown);
}
