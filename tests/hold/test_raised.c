/* From a job to a raised plan, from outside: maps of any size, crops, masks, edited steps,
 * what is said, what is refused. From inside: random reliefs of both builds hold together,
 * and every unit of every tier is in one brick, counted here unit by unit. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/memory.h"
#include "base/raster.h"
#include "bricks/lay.h"
#include "hold/bond.h"
#include "hold/connect_panels.h"
#include "hold/relief_support.h"
#include "plan/plan.h"
#include "relief/relief.h"
#include "support/chance.h"
#include "support/command.h"
#include "support/failing.h"

#include <math.h>
#include <png.h>

static uint32_t noise_state;
static double noise(void) { return chance_unit(&noise_state); }

/* ---- pictures ---- */

typedef double Shape(double x, double y); /* 0 to 1 each way, y down; gives 0 to 1 */

static double hill(double x, double y) { return fmax(0, 1 - 2.2 * hypot(x - 0.3, y - 0.4)); }
static double disc(double x, double y) { return hypot(x - 0.3, y - 0.4) < 0.2; }
static double across(double x, double y) { return 0.999 * x + 0 * y; }

static void paint(const char *name, int width, int height, Shape *shape)
{
    png_image image = {.version = PNG_IMAGE_VERSION,
                       .width = (png_uint_32)width,
                       .height = (png_uint_32)height,
                       .format = PNG_FORMAT_GRAY};
    png_bytep pixels = malloc((size_t)width * (size_t)height), p = pixels;
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++)
            *p++ = (png_byte)(255 * shape((x + 0.5) / width, (y + 0.5) / height));
    assert_true(png_image_write_to_file(&image, in_room(name), 0, pixels, 0, NULL));
    free(pixels);
}

typedef struct Steps {
    int columns, rows;
    uint8_t *at; /* top row first */
} Steps;

static Steps read_steps(const char *name)
{
    Raster raster;
    assert_int_equal(raster_read_indices(&raster, in_room(name), 1e9, NULL), 0);
    assert_int_equal(raster.kind, RASTER_INDEXED);
    return (Steps){(int)raster.width, (int)raster.height, raster.sample};
}

static int setup(void **state)
{
    if (command_setup(state)) return -1;
    paint("ref.png", 300, 200, across);
    paint("hill.png", 150, 100, hill);
    paint("disc.png", 600, 400, disc);
    paint("across.png", 900, 600, across);
    paint("tall.png", 100, 150, hill);
    return 0;
}

/* ---- from outside ---- */

#define PLAN "rowlock plan ref.png --columns 60 --dither none --book no --quote no "

static void a_map_raises_what_it_shows(void **state)
{
    (void)state;
    assert_int_equal(shell(PLAN "--relief map --depth-map hill.png --steps 5 --out a && "
                                "rowlock check a && ls a"),
                     0);
    assert_non_null(strstr(command_said, "relief.glb\nrelief.png\n"));
    assert_non_null(strstr(command_said, "steps.png\n"));
    Steps s = read_steps("a/steps.png");
    assert_int_equal(s.columns, 60);
    assert_int_equal(s.rows, 40);
    for (int y = 0; y < 40; y++)
        for (int x = 0; x < 60; x++) {
            const double z = hill((x + 0.5) / 60, (y + 0.5) / 40);
            if (z == 0 && hill((x + 5) / 60.0, (y + 4) / 40.0) == 0 &&
                hill((x - 4) / 60.0, (y - 3) / 40.0) == 0)
                assert_int_equal(s.at[y * 60 + x], 0);
            assert_true(fabs(s.at[y * 60 + x] - floor(fmin(0.999, z) * 6)) <= 1);
        }
    assert_int_equal(s.at[16 * 60 + 18], 5);
    free(s.at);
}

/* The map is of the reference, whatever its size, or of the crop. */
static void a_crop_takes_the_map_along(void **state)
{
    (void)state;
    assert_int_equal(shell(PLAN "--crop 100x200+150+0 --relief map --depth-map across.png "
                                "--relief-smooth 0 --steps 9 --out b1"),
                     0);
    paint("half.png", 50, 100, across);
    assert_int_equal(shell(PLAN "--crop 100x200+150+0 --relief map --depth-map half.png "
                                "--relief-smooth 0 --steps 9 --out b2"),
                     0);
    Steps a = read_steps("b1/steps.png"), b = read_steps("b2/steps.png");
    assert_int_equal(a.columns, 60);
    assert_int_equal(a.rows, 120);
    for (int i = 0; i < 60 * 120; i++) {
        const int known = (int)(i % 60 / 59.0 * 9.999); /* the range is the crop's own */
        assert_true(abs(a.at[i] - known) <= 1);
        assert_true(abs(b.at[i] - known) <= 1);
    }
    assert_int_equal(a.at[0], 0);
    assert_int_equal(a.at[59], 9);
    free(a.at);
    free(b.at);
}

static void a_mask_raises_the_subject_only(void **state)
{
    (void)state;
    assert_int_equal(shell(PLAN "--relief luminance --toward dark --mask disc.png --steps 4 "
                                "--out c && rowlock check c"),
                     0);
    Steps s = read_steps("c/steps.png");
    for (int y = 0; y < 40; y++)
        for (int x = 0; x < 60; x++) {
            const double r = hypot((x + 0.5) / 60 - 0.3, (y + 0.5) / 40 - 0.4);
            if (r > 0.23) assert_int_equal(s.at[y * 60 + x], 0);
            if (r < 0.17) assert_in_range(s.at[y * 60 + x], 1, 4);
        }
    assert_true(s.at[16 * 60 + 12] > s.at[16 * 60 + 24]); /* the left is darker */
    free(s.at);
}

static void edited_steps_come_back(void **state)
{
    (void)state;
    assert_int_equal(shell(PLAN "--relief map --depth-map hill.png --steps 5 --out d1 && " PLAN
                                "--steps-map d1/steps.png --out d2 && rowlock check d2 && "
                                "cmp d1/steps.png d2/steps.png && cmp d1/bricks.csv d2/bricks.csv"),
                     0);
    paint("wrong.png", 61, 40, disc);
    assert_int_equal(shell(PLAN "--steps-map wrong.png --out d3"), 65);
    assert_non_null(strstr(command_said, "wrong.png: is 61 x 40"));
    paint("high.png", 60, 40, disc);
    assert_int_equal(shell(PLAN "--steps-map high.png --out d3"), 65);
    assert_non_null(strstr(command_said, "255 steps"));
    assert_int_equal(shell("test -e d3"), 1);
}

/* 40 mm are 4.17 plaque tiers of 9.6 mm, and five wall tiers of 8 mm. */
static void depth_is_rounded_to_steps_and_said(void **state)
{
    (void)state;
    const char *map = "--relief map --depth-map hill.png --depth 40mm";
    assert_int_equal(shell(PLAN "%s --out e1", map), 0);
    assert_non_null(strstr(command_said, "40 mm are rounded to 4 steps of 9.6 mm, 38.4 mm"));
    assert_int_equal(shell(PLAN "%s --build wall --out e2", map) & ~1, 0);
    assert_non_null(strstr(command_said, "40 mm are rounded to 5 steps of 8 mm, 40 mm"));
    Steps s = read_steps("e1/steps.png");
    int most = 0;
    for (int i = 0; i < s.columns * s.rows; i++) most = s.at[i] > most ? s.at[i] : most;
    assert_int_equal(most, 4);
    free(s.at);
    assert_int_equal(shell(PLAN "%s --steps 3 --out e3", map), 64);
}

static void what_does_not_fit_is_refused(void **state)
{
    (void)state;
    assert_int_equal(shell(PLAN "--relief map --out f"), 64);
    assert_int_equal(shell(PLAN "--depth-map hill.png --out f"), 64);
    assert_int_equal(shell(PLAN "--mask disc.png --out f"), 64);
    assert_int_equal(shell(PLAN "--relief map --depth-map tall.png --out f"), 65);
    assert_non_null(strstr(command_said, "tall.png: is 100 x 150"));
    assert_int_equal(shell(PLAN "--relief map --depth-map none.png --out f"), 66);
    assert_int_equal(shell(PLAN "--relief luminance --backing Q9 --out f"), 64);
    assert_int_equal(shell("test -e f"), 1);
}

static void the_same_bytes_for_any_threads(void **state)
{
    (void)state;
    const char *map = "--relief map --depth-map across.png --build wall --steps 3";
    assert_int_equal(shell(PLAN "%s --threads 1 --out g1", map) & ~1, 0);
    assert_int_equal(shell(PLAN "%s --threads 3 --out g2", map) & ~1, 0);
    assert_int_equal(shell("diff -r g1 g2"), 0);
}

/* ---- from inside ---- */

typedef struct RandomRelief {
    Grid grid;
    Solid solid;
    Sizes sizes;
    Panels panels;
    Laid laid;
    Bond bond;
} RandomRelief;

static void raise_randomly(RandomRelief *r, Build build, int base, int turn)
{
    const int columns = 7 + (int)(noise() * 17), rows = 7 + (int)(noise() * 14);
    const size_t cells = (size_t)columns * (size_t)rows;
    memset(r, 0, sizeof *r);
    assert_int_equal(grid_init(&r->grid, columns, rows, true, NULL), 0);
    Image guide;
    assert_int_equal(image_init(&guide, columns, rows, NULL), 0);
    float *depth = malloc(cells * sizeof *depth);
    const double fx = 1 + 5 * noise(), fy = 1 + 5 * noise();
    for (int y = 0; y < rows; y++)
        for (int x = 0; x < columns; x++) {
            const int i = y * columns + x;
            depth[i] = (float)(sin(x / fx) + cos(y / fy) + noise() * (turn % 3));
            r->grid.colour[i] =
                (uint8_t)((x / 4 + y / 3 + (turn % 2 ? (int)(noise() * 2) : 0)) % 5);
            for (int k = 0; k < 3; k++)
                guide.xyz[3 * i + k] = 0.15f * (float)(r->grid.colour[i] + 1);
        }
    ReliefOptions options = RELIEF_OPTIONS_DEFAULT;
    options.steps = 1 + turn % 7;
    options.jump = turn % 4;
    options.islands = 1 + turn % 9;
    assert_int_equal(relief_steps(&options, &guide, depth, NULL, r->grid.steps, NULL), 0);
    free(depth);
    image_clear(&guide);
    r->solid = (Solid){.grid = &r->grid, .build = build, .base = base};
    sizes_default(&r->sizes, 8, 9.6);
    const PanelLimits limits = {.columns = 12, .rows = 12, .mass_kg = 15};
    assert_int_equal(panels_init(&r->panels, &r->solid, &r->sizes, &limits, NULL), 0);
}

static void lay_it(RandomRelief *r)
{
    StepChanges step_changes;
    LayReport report;
    LayOptions options = LAY_OPTIONS_DEFAULT;
    for (size_t raised = 1, round = 0; raised && round < 5; round++) {
        assert_int_equal(relief_support_steps(&(Relief){&r->grid, r->solid.build, r->solid.base,
                                                        &r->panels, &r->sizes},
                                              &step_changes, NULL, NULL),
                         0);
        step_changes_clear(&step_changes);
        laid_clear(&r->laid);
        assert_int_equal(lay(&(LayTask){&r->solid, &r->panels, &r->sizes}, &options, &r->laid,
                             &report, NULL, NULL),
                         0);
        assert_int_equal(connect_panels(&r->grid, &r->solid, &r->panels, &r->laid, &raised, NULL),
                         0);
    }
    assert_int_equal(bond_init(&r->bond, &r->solid, &r->panels, &r->laid, 1, NULL), 0);
}

/* Every unit of every tier in one brick, and of the cell's colour where it is seen. */
static void units_are_conserved(const RandomRelief *r)
{
    const int columns = r->grid.columns, rows = r->grid.rows, depth = solid_depth(&r->solid);
    uint8_t *times = calloc((size_t)(columns * rows * depth), 1);
    for (size_t i = 0; i < r->laid.count; i++) {
        const Brick *b = &r->laid.brick[i];
        for (int t = b->tier; t < b->tier + b->tiers; t++)
            for (int y = b->row; y < b->row + b->rows; y++)
                for (int x = b->column; x < b->column + b->columns; x++) {
                    times[(t * rows + y) * columns + x]++;
                    if (solid_shown(&r->solid, x, y, t))
                        assert_int_equal(b->colour, grid_colour(&r->grid, x, y));
                }
    }
    for (int t = 0; t < depth; t++)
        for (int y = 0; y < rows; y++)
            for (int x = 0; x < columns; x++)
                assert_int_equal(times[(t * rows + y) * columns + x],
                                 t < solid_top(&r->solid, x, y));
    free(times);
}

/* Most turns' colours part in line over all courses: a wall one thick is tied by its relief. */
static void random_reliefs_hold(Build build)
{
    noise_state = 40 + (unsigned)build;
    for (int turn = 0; turn < 100; turn++) {
        RandomRelief r;
        raise_randomly(&r, build, build == BUILD_WALL ? 1 + turn % 3 : 1, turn);
        lay_it(&r);
        units_are_conserved(&r);
        for (int i = 0; i < r.panels.count; i++) {
            assert_int_equal(r.bond.panel[i].unsupported, 0);
            if (r.bond.panel[i].pieces != 1)
                fail_msg("turn %d, base %d: comes apart", turn, r.solid.base);
        }
        bond_clear(&r.bond);
        laid_clear(&r.laid);
        panels_clear(&r.panels);
        grid_clear(&r.grid);
    }
}

static void random_raised_plaques_hold(void **state)
{
    (void)state;
    random_reliefs_hold(BUILD_PLAQUE);
}

static void random_raised_walls_hold(void **state)
{
    (void)state;
    random_reliefs_hold(BUILD_WALL);
}

/* Backing is the colour that is named, else the cheapest for its volume that the stock
 * tells of, else the first; what is shown keeps its colour. */
static void backing_takes_what_serves(void **state)
{
    (void)state;
    const char *hidden = "tail -n +2 h/bricks.csv | awk -F, '$10 ~ /^0/ {print $9}' | sort -u";
    FILE *file = fopen(in_room("palette.csv"), "w");
    fputs("id,name,hex\nK,black,#000000\nG,grey,#808080\nW,white,#ffffff\n", file);
    fclose(file);
    file = fopen(in_room("stock.csv"), "w");
    fputs("colour,size,quantity,price\nG,2x4,0,0.80\nW,1x1,0,0.09\n", file);
    fclose(file);
    const char *plan = PLAN "--relief map --depth-map hill.png --palette palette.csv --out h";
    assert_int_equal(shell("%s --quiet && %s", plan, hidden), 0);
    assert_string_equal(command_said, "K\n");
    assert_int_equal(shell("%s --quiet --backing G && %s", plan, hidden), 0);
    assert_string_equal(command_said, "G\n");
    assert_int_equal(shell("%s --quiet --stock stock.csv && %s", plan, hidden), 0);
    assert_string_equal(command_said, "W\n");
}

/* Of a whole plan in relief, so that what each step holds is given back. */
static void every_allocation_may_fail(void **state)
{
    (void)state;
    Job job;
    job_init(&job);
    snprintf(job.reference, sizeof job.reference, "%s", in_room("ref.png"));
    snprintf(job.out, sizeof job.out, "%s", in_room("failing"));
    job.columns = 9;
    job.build = BUILD_WALL;
    job.dither = DITHER_NONE;
    job.book = job.quote = 0;
    job.threads = 1;
    const Job flat = job;
    job.relief = RELIEF_MAP;
    snprintf(job.depth_map, sizeof job.depth_map, "%s", in_room("hill.png"));
    snprintf(job.mask, sizeof job.mask, "%s", in_room("disc.png"));
    assert_true(fail_allocations(&flat, &job) <= STATUS_UNHELD);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_map_raises_what_it_shows),
        cmocka_unit_test(a_crop_takes_the_map_along),
        cmocka_unit_test(a_mask_raises_the_subject_only),
        cmocka_unit_test(edited_steps_come_back),
        cmocka_unit_test(depth_is_rounded_to_steps_and_said),
        cmocka_unit_test(what_does_not_fit_is_refused),
        cmocka_unit_test(the_same_bytes_for_any_threads),
        cmocka_unit_test(random_raised_plaques_hold),
        cmocka_unit_test(random_raised_walls_hold),
        cmocka_unit_test(backing_takes_what_serves),
        cmocka_unit_test(every_allocation_may_fail),
    };
    return cmocka_run_group_tests(tests, setup, command_teardown);
}
