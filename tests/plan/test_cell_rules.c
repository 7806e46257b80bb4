/* What is asked of single cells, from outside: regions that bar colours, care, pins. Random jobs,
 * whose cells are read from cells.png and held to the rules that the test itself drew; a face that
 * counts more; and what is refused, one line each. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "eye/eye.h"
#include "output/cells_png.h"
#include "support/chance.h"
#include "support/command.h"
#include "support/failing.h"
#include "support/pictures.h"
#include "support/plan_measure.h"

#include <math.h>
#include <png.h>
#include <stdbool.h>

enum { WIDE = 36, HIGH = 30, REGIONS = 3 };

static Palette palette;
static uint64_t seed;

static int between(int least, int most)
{
    return least + (int)(draw(&seed) % (uint64_t)(most - least + 1));
}
static bool once_in(int n) { return draw(&seed) % (uint64_t)n == 0; }

/* ---- what jobs read; row 0 on top ---- */

static void write_png(const char *name, png_uint_32 format, int wide, int high, const void *pixels)
{
    png_image image = {.version = PNG_IMAGE_VERSION,
                       .width = (png_uint_32)wide,
                       .height = (png_uint_32)high,
                       .format = format};
    assert_true(png_image_write_to_file(&image, in_room(name), 0, pixels, 0, NULL));
}

/* Blocks and noise in colours that are near to many of the palette's. */
static void draw_picture(void)
{
    static uint8_t rgb[HIGH][WIDE][3];
    const int block = between(2, 12), noise = between(0, 60);
    const uint64_t tint = draw(&seed);
    for (int y = 0; y < HIGH; y++)
        for (int x = 0; x < WIDE; x++)
            for (int c = 0; c < 3; c++) {
                const int at = x / block * 7 + y / block * 13 + c * 3;
                const int value = (int)(tint >> at % 57 & 127) * 2 + between(-noise, noise);
                rgb[y][x][c] = (uint8_t)(value < 0 ? 0 : value > 255 ? 255 : value);
            }
    write_png("picture.png", PNG_FORMAT_RGB, WIDE, HIGH, rgb);
}

static uint8_t label[HIGH][WIDE];
static bool barred[REGIONS + 1][PALETTE_MOST];

/* A pixel a cell, so that it is known which region each cell is in. */
static void draw_regions(void)
{
    memset(label, 0, sizeof label);
    memset(barred, 0, sizeof barred);
    for (int n = 1; n <= REGIONS; n++) {
        const int cx = between(0, WIDE - 1), cy = between(0, HIGH - 1), r = between(3, 14);
        for (int y = 0; y < HIGH; y++)
            for (int x = 0; x < WIDE; x++)
                if (hypot(x - cx, y - cy) < r) label[y][x] = (uint8_t)n;
    }
    for (int n = 1; n <= REGIONS; n++) label[0][n] = (uint8_t)n; /* none is lost */
    write_png("labels.png", PNG_FORMAT_GRAY, WIDE, HIGH, label);
    FILE *file = fopen(in_room("regions.ini"), "w");
    for (int n = 1; n <= REGIONS; n++) {
        fprintf(file, "[region r%d]\nindex = %d\n", n, n);
        if (once_in(2)) fprintf(file, "care = %d\n", between(1, 10));
        if (once_in(3)) fprintf(file, "calm = 0.%d\n", between(0, 9));
        if (once_in(3)) fprintf(file, "thrift = %d\n", between(0, 3));
        const int most = once_in(4) ? palette.count - 2 : palette.count / 2;
        fprintf(file, "without = N7");
        barred[n][palette_find(&palette, "N7")] = true;
        for (int i = 0; i < most; i++) {
            const int colour = between(0, palette.count - 1);
            if (!strcmp(palette.colour[colour].id, "N5")) continue; /* one is left */
            fprintf(file, ", %s", palette.colour[colour].id);
            barred[n][colour] = true;
        }
        putc('\n', file);
    }
    fclose(file);
}

enum { FREE = 255 };
static uint8_t pin[HIGH][WIDE];

/* Some pins, in colours that their regions allow. */
static void draw_pins(void)
{
    static uint8_t rgba[HIGH][WIDE][4];
    memset(rgba, 0, sizeof rgba);
    memset(pin, FREE, sizeof pin);
    for (int i = 0; i < 60; i++) {
        const int x = between(0, WIDE - 1), y = between(0, HIGH - 1);
        const int colour = between(0, palette.count - 1);
        if (barred[label[y][x]][colour]) continue;
        pin[y][x] = (uint8_t)colour;
        memcpy(rgba[y][x], palette.colour[colour].srgb, 3);
        rgba[y][x][3] = 255;
    }
    write_png("pins.png", PNG_FORMAT_RGBA, WIDE, HIGH, rgba);
}

static void draw_stock(void)
{
    static const char *const sizes[] = {"1x1", "1x2", "2x2", "2x4"};
    FILE *file = fopen(in_room("stock.csv"), "w");
    fputs("colour,size,quantity,price\n", file);
    for (int c = 0; c < palette.count; c++)
        for (int s = 0; s < 4; s++)
            if (!once_in(3))
                fprintf(file, "%s,%s,%d,0.1\n", palette.colour[c].id, sizes[s],
                        between(0, s ? 12 : 60));
    fclose(file);
}

/* ---- what must hold ---- */

static Grid read_cells(const char *folder)
{
    char name[64];
    Grid grid;
    snprintf(name, sizeof name, "%s/cells.png", folder);
    assert_int_equal(cells_png_read(&grid, in_room(name), &palette, 0, 0, NULL), STATUS_OK);
    return grid;
}

static void holds(const char *folder, bool regions, bool pins, int standing)
{
    Grid grid = read_cells(folder);
    for (int row = standing; row < HIGH; row++)
        for (int x = 0; x < WIDE; x++) {
            const int y = HIGH - 1 - row, colour = grid_colour(&grid, x, row);
            if (pins && pin[y][x] != FREE)
                assert_int_equal(colour, pin[y][x]);
            else if (regions && barred[label[y][x]][colour])
                fail_msg("row %d, column %d: %s is barred", row + 1, x + 1,
                         palette.colour[colour].id);
        }
    grid_clear(&grid);
}

static void random_jobs_obey(void **state)
{
    (void)state;
    static const char *const dithers[] = {"distance", "none", "floyd-steinberg", "blue-noise"};
    static const char *const solids[] = {"", "", " --build wall --thickness 2 --brick-height 8mm",
                                         " --relief luminance --steps 4"};
    long plans = 0;
    for (int job = 0; job < 16; job++) {
        seed = (uint64_t)job * 0x5851f42d4c957f2du + 7;
        assert_int_equal(shell("rm -rf plan again"), 0);
        draw_picture();
        draw_regions();
        draw_pins();
        draw_stock();
        const bool pins = once_in(2), regions = !pins || once_in(2);
        const int code = shell(
            "rowlock plan picture.png --columns %d --rows %d --dither %s%s%s%s%s%s --effort 0 "
            "--book no --quote no --quiet --out plan",
            WIDE, HIGH, dithers[job % 4], solids[between(0, 3)],
            regions ? " --regions regions.ini --region-labels labels.png" : "",
            pins ? " --pins pins.png" : "",
            once_in(2) ? " --stock stock.csv --stock-only --recolour 30" : "",
            once_in(4) ? " --tone fit --brick-thrift 0.7" : "");
        if (code != 0 && code != 1) {
            assert_int_equal(code, 65);
            if (!strstr(command_said, "stock")) fail_msg("job %d: %s", job, command_said);
            continue;
        }
        plans++;
        holds("plan", regions, pins, 0);
        assert_int_equal(shell("rowlock check plan"), code);
        if (shell("rowlock replan plan --built 1-10 --dither %s --quiet --out again",
                  dithers[between(0, 3)]) > 1)
            continue; /* a relief cannot be built row by row */
        holds("again", regions, pins, 11);
        assert_int_equal(shell("rowlock check again"), code);
    }
    assert_true(plans >= 8);
}

/* A grey picture, and a stock that suffices to the last unit, if the half that may take two greys
 * alone gets nearly all there is of them. */
static void a_region_gets_what_it_alone_may_take(void **state)
{
    (void)state;
    static const char *const dithers[] = {"distance", "none"};
    static uint8_t grey[HIGH][WIDE];
    const int dark = palette_find(&palette, "N5"), light = palette_find(&palette, "N7");
    memset(grey, 139, sizeof grey);
    write_png("picture.png", PNG_FORMAT_GRAY, WIDE, HIGH, grey);
    memset(barred, 0, sizeof barred);
    for (int y = 0; y < HIGH; y++)
        for (int x = 0; x < WIDE; x++) label[y][x] = x < WIDE / 2;
    write_png("labels.png", PNG_FORMAT_GRAY, WIDE, HIGH, label);
    FILE *file = fopen(in_room("two.ini"), "w");
    fputs("[region two]\nindex = 1\nwithout = N1", file);
    for (int c = 0; c < palette.count; c++) {
        barred[1][c] = c != dark && c != light;
        if (barred[1][c]) fprintf(file, ",%s", palette.colour[c].id);
    }
    fclose(file);
    file = fopen(in_room("just.csv"), "w");
    fputs("colour,size,quantity,price\nN5,1x1,200,1\nN7,1x1,400,1\nN9,1x1,480,1\n", file);
    fclose(file);
    for (int k = 0; k < 2; k++) {
        assert_int_equal(shell("rm -rf plan; rowlock plan picture.png --columns %d --dither %s "
                               "--stock just.csv --stock-only --regions two.ini --region-labels "
                               "labels.png --effort 0 --book no --quote no --quiet --out plan",
                               WIDE, dithers[k]),
                         0);
        holds("plan", true, false, 0);
        assert_int_equal(shell("rowlock check plan"), 0);
    }
}

/* ---- care ---- */

enum { SIDE = 64, PIXELS = 8 }; /* cells of the astronaut each way, and pixels of one */

static bool is_face(int x, int y) { return hypot((x - 27.5) / 7, (y - 14.5) / 9) < 1; }

/* Mean difference that the eye sees in the face, and elsewhere. */
static void see(const char *folder, const Image *image, double seen[2])
{
    static float cell[SIDE * SIDE];
    Grid grid = read_cells(folder);
    const EyeOptions options = {.viewpoint = {8, 8, 5000}, .threads = 1, .cell_out = cell};
    EyeResult result;
    double sum[2] = {0}, cells[2] = {0};
    assert_int_equal(eye_measure(image, &palette, &grid, &options, &result, NULL), STATUS_OK);
    for (int i = 0; i < SIDE * SIDE; i++) {
        const bool face = is_face(i % SIDE, SIDE - 1 - i / SIDE);
        sum[face] += (double)cell[i];
        cells[face]++;
    }
    for (int k = 0; k < 2; k++) seen[k] = sum[k] / cells[k];
    grid_clear(&grid);
}

/* The face of tests/data's astronaut, with little thought for the look elsewhere. */
static void a_face_counts_more(void **state)
{
    (void)state;
    static uint8_t care[SIDE][SIDE];
    Image image;
    double plain[2], careful[2], by_region[2];
    char folder[PATH_MAX];
    assert_non_null(realpath("tests/data/pictures", folder));
    image_read(&image, picture_files[0], PIXELS);
    for (int y = 0; y < SIDE; y++)
        for (int x = 0; x < SIDE; x++) care[y][x] = is_face(x, y) ? 255 : 128;
    write_png("care.png", PNG_FORMAT_GRAY, SIDE, SIDE, care);
    for (int y = 0; y < SIDE; y++)
        for (int x = 0; x < SIDE; x++) care[y][x] = is_face(x, y);
    write_png("face.png", PNG_FORMAT_GRAY, SIDE, SIDE, care);
    assert_int_equal(
        shell("printf '[region face]\\nindex = 1\\ncare = 10\\n' > face.ini; "
              "plan() { rowlock plan '%s'/astronaut.png --columns %d --brick-thrift 0.6 --effort 0 "
              "--book no --quote no --quiet \"$@\"; }; plan --out plain && plan --care care.png "
              "--out careful "
              "&& plan --regions face.ini --region-labels face.png --out by-region",
              folder, SIDE),
        0);
    see("plain", &image, plain);
    see("careful", &image, careful);
    see("by-region", &image, by_region);
    print_message("face %.2f, with care %.2f, as a region %.2f; elsewhere %.2f, %.2f, %.2f\n",
                  plain[1], careful[1], by_region[1], plain[0], careful[0], by_region[0]);
    const double bricks = plan_measure(in_room("plain/plan.json"), "bricks");
    for (int k = 0; k < 2; k++) {
        const double *seen = k ? by_region : careful;
        assert_true(seen[1] < 0.88 * plain[1]);
        assert_true(seen[0] < 1.02 * plain[0]);
        assert_true(plan_measure(in_room(k ? "by-region/plan.json" : "careful/plan.json"),
                                 "bricks") < 1.06 * bricks);
    }
    image_clear(&image);
}

/* Factors of 1 and nothing barred is what there is without regions. */
static void a_region_of_ones_changes_nothing(void **state)
{
    (void)state;
    seed = 5;
    draw_picture();
    draw_regions();
    assert_int_equal(
        shell("printf '[region a]\\nindex = 1\\n[region b]\\nindex = 2\\nthrift = 1\\n"
              "[region c]\\nindex = 3\\ncare = 1\\ncalm = 1\\n' > ones.ini; "
              "plan() { rowlock plan picture.png --columns %d --book no --quote no --quiet \"$@\"; "
              "}; "
              "plan --out x && plan --regions ones.ini --region-labels labels.png --out y && "
              "cmp x/cells.png y/cells.png && cmp x/bricks.csv y/bricks.csv",
              WIDE),
        0);
}

/* ---- what is given back ---- */

static void pins_come_back(void **state)
{
    (void)state;
    seed = 11;
    draw_picture();
    memset(label, 0, sizeof label);
    memset(barred, 0, sizeof barred);
    draw_pins();
    assert_int_equal(
        shell(
            "plan() { rowlock plan picture.png --columns %d --rows %d --book no --quote no --quiet "
            "\"$@\"; }; rm -rf x y; plan --pins pins.png --out x && plan --pins x/pins.png --out y "
            "&& cmp x/cells.png y/cells.png && cmp x/pins.png y/pins.png",
            WIDE, HIGH),
        0);
    holds("y", false, true, 0);
    /* A cell that is not as it was pinned is found from the files alone. */
    assert_int_equal(shell("rm -rf z; cp -r x z; rowlock plan picture.png --columns %d --rows %d "
                           "--book no --quote no --quiet --out w && cp w/cells.png z/cells.png; "
                           "rowlock check z",
                           WIDE, HIGH),
                     1);
    assert_non_null(strstr(command_said, "but it is pinned to"));
}

/* ---- what is refused ---- */

static void refused(int want_code, const char *options, const char *want)
{
    const int code =
        shell("rowlock plan picture.png --columns %d --rows %d --book no --quote no --quiet "
              "--out plan %s",
              WIDE, HIGH, options);
    const char *end = strchr(command_said, '\n');
    if (code != want_code || !strstr(command_said, want) || !end || end[1])
        fail_msg("%s\nexit %d, says: %swant: %s", options, code, command_said, want);
}

static void write_text(const char *name, const char *text)
{
    FILE *file = fopen(in_room(name), "w");
    fputs(text, file);
    fclose(file);
}

static void refuses(void **state)
{
    (void)state;
    seed = 3;
    draw_picture();
    draw_regions();
    memset(barred, 0, sizeof barred);
    draw_pins();
    static const char both[] = "--regions r.ini --region-labels labels.png";
    static const struct {
        const char *ini, *want;
    } lists[] = {
        {"[region a]\nindex = 1\n", "index 2 is no region of r.ini"},
        {"[region a]\nindex = 1\n[region b]\nindex = 2\n[region c]\nindex = 3\n[region d]\nindex = "
         "4\n",
         "no pixel has index 4, that of region d"},
        {"[region a]\nindex = 1\nwithout = N7, Q9\n", "the palette has no colour 'Q9'"},
        {"[region a]\nindex = 1\ncare = 11\n", "r.ini:3: care: '11' is not one; give a factor"},
        {"[region a]\nindex = 1\nthrift = -1\n", "thrift: '-1' is not one"},
        {"[region a]\nindex = 1\n[region a]\nindex = 2\n", "line 2 says it already"},
        {"[region a]\nindex = 1\n[region b]\nindex = 1\n", "regions a and b both have index 1"},
        {"[region a]\ncare = 2\n", "region a has no index"},
        {"[region a]\nindex = 0\n", "0 is what is in no region"},
        {"[region a]\nindex = 1\nclam = 2\n", "no such key of a region; give index, care"},
        {"[layer a]\nindex = 1\n", "stands in no section of a region"},
        {"# nothing\n", "holds no region"},
    };
    for (size_t i = 0; i < sizeof lists / sizeof *lists; i++) {
        write_text("r.ini", lists[i].ini);
        refused(65, both, lists[i].want);
    }
    FILE *file = fopen(in_room("r.ini"), "w");
    fputs("[region b]\nindex = 2\n[region c]\nindex = 3\n[region a]\nindex = 1\nwithout = N1",
          file);
    for (int i = 1; i < palette.count; i++) fprintf(file, ",%s", palette.colour[i].id);
    fclose(file);
    refused(65, both, "region a may take no colour at all");
    refused(64, "--regions regions.ini", "nothing is drawn");
    refused(64, "--region-labels labels.png", "nothing says what its regions are");
    write_png("wide.png", PNG_FORMAT_GRAY, WIDE, HIGH / 2, label);
    refused(65, "--regions regions.ini --region-labels wide.png", "not the shape of the reference");
    refused(65, "--care wide.png", "not the shape of the reference");
    refused(66, "--care none.png", "none.png");
    refused(65, "--pins wide.png", "not one pixel a cell");
    refused(65, "--pins picture.png", "is no colour of the palette");
    write_text("few.csv", "colour,size,quantity,price\nN7,1x1,9000,1\nN5,1x1,20,1\n");
    write_text("n7.ini",
               "[region a]\nindex = 1\nwithout = N7\n[region b]\nindex = 2\nwithout = N7\n"
               "[region c]\nindex = 3\nwithout = N7\n");
    refused(65, "--regions n7.ini --region-labels labels.png --stock few.csv --stock-only",
            "the stock 20 units of the colours that it may take");
    refused(65, "--pins pins.png --stock few.csv --stock-only", "the stock has 0 units");
}

/* What another palette has not is not to be had, so that a list of today still holds. */
static void a_list_outlives_its_palette(void **state)
{
    (void)state;
    seed = 3;
    draw_picture();
    for (int y = 0; y < HIGH; y++)
        for (int x = 0; x < WIDE; x++) label[y][x] = 1;
    write_png("labels.png", PNG_FORMAT_GRAY, WIDE, HIGH, label);
    write_text("all.ini", "[region all]\nindex = 1\nwithout = N5, Q1\n");
    write_text("three.csv", "id,name,hex\nN5,a,#777777\nN9,b,#f4f4f4\nQ1,c,#ff00ff\n");
    write_text("two.csv", "id,name,hex\nN5,a,#777777\nN9,b,#f4f4f4\n");
    assert_int_equal(shell("rm -rf plan again; rowlock plan picture.png --columns %d --rows %d "
                           "--palette three.csv --regions all.ini --region-labels labels.png "
                           "--book no --quiet --out plan",
                           WIDE, HIGH),
                     0);
    assert_int_equal(shell("rowlock replan plan --built 1-2 --palette two.csv --out again"), 0);
    assert_non_null(strstr(command_said, "all.ini:3: without: this palette has no colour 'Q1'"));
    assert_int_equal(shell("rowlock check again"), 0);
    refused(65, "--palette two.csv --regions all.ini --region-labels labels.png",
            "the palette has no colour 'Q1'");
}

static void pins_and_regions_agree(void **state)
{
    (void)state;
    seed = 9;
    draw_picture();
    draw_regions();
    memset(pin, FREE, sizeof pin);
    static uint8_t rgba[HIGH][WIDE][4];
    const int colour = palette_find(&palette, "N7");
    memcpy(rgba[0][1], palette.colour[colour].srgb, 3);
    rgba[0][1][3] = 255;
    write_png("pins.png", PNG_FORMAT_RGBA, WIDE, HIGH, rgba);
    refused(65, "--pins pins.png --regions regions.ini --region-labels labels.png",
            "colour N7 is not allowed in region r");
    rgba[0][1][3] = 99;
    write_png("pins.png", PNG_FORMAT_RGBA, WIDE, HIGH, rgba);
    refused(65, "--pins pins.png", "is half transparent");
}

/* A small plan with all of it, whose allocations fail in turn. */
static void says_where_memory_runs_out(void **state)
{
    (void)state;
    enum { COLUMNS = 9, ROWS = 8 };
    uint8_t part[ROWS][COLUMNS] = {{0}}, rgba[ROWS][COLUMNS][4] = {{{0}}};
    for (int y = 0; y < ROWS; y++) memset(part[y], 1, 4);
    memcpy(rgba[2][6], palette.colour[5].srgb, 3);
    rgba[2][6][3] = 255;
    write_png("part.png", PNG_FORMAT_GRAY, COLUMNS, ROWS, part);
    write_png("few-pins.png", PNG_FORMAT_RGBA, COLUMNS, ROWS, rgba);
    write_text("part.ini", "[region a]\nindex = 1\ncare = 2\nthrift = 0.5\nwithout = N7\n");
    assert_int_equal(speckle(in_room("small.ppm"), COLUMNS, ROWS), 0);
    const char *const setting[][2] = {
        {"reference", "small.ppm"},
        {"columns", "9"},
        {"out", "small"},
        {"book", "no"},
        {"quote", "no"},
        {"threads", "1"},
        {"effort", "0"},
        {"regions", "part.ini"},
        {"region-labels", "part.png"},
        {"pins", "few-pins.png"},
        {"care", "small.ppm"},
    };
    assert_int_equal(
        fail_allocations_from(setting, sizeof setting / sizeof *setting, "regions", command_room),
        STATUS_OK);
    Grid grid = read_cells("small");
    assert_int_equal(grid_colour(&grid, 6, ROWS - 1 - 2), 5);
    grid_clear(&grid);
}

static int setup(void **state)
{
    return palette_default(&palette, NULL) ? -1 : command_setup(state);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(random_jobs_obey),
        cmocka_unit_test(a_region_gets_what_it_alone_may_take),
        cmocka_unit_test(a_face_counts_more),
        cmocka_unit_test(a_region_of_ones_changes_nothing),
        cmocka_unit_test(pins_come_back),
        cmocka_unit_test(refuses),
        cmocka_unit_test(a_list_outlives_its_palette),
        cmocka_unit_test(pins_and_regions_agree),
        cmocka_unit_test(says_where_memory_runs_out),
    };
    return cmocka_run_group_tests(tests, setup, command_teardown);
}
