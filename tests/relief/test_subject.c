/* From strokes and a list of layers to a raised plan, from outside: a portrait by formula, whose
 * body, hands and face are known to the pixel; corrections, edited layers and steps, depth of
 * whole steps; and what is refused. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/raster.h"
#include "model/index_colours.h"
#include "support/command.h"
#include "support/failing.h"

#include <math.h>
#include <png.h>
#include <stdbool.h>

/* ---- a portrait ---- */

enum { WIDE = 400, HIGH = 500, COLUMNS = 80, ROWS = 100, AROUND = 1, BODY, HANDS, FACE };

static bool in_ellipse(double x, double y, double cx, double cy, double rx, double ry)
{
    return hypot((x - cx) / rx, (y - cy) / ry) < 1;
}

/* The index of a place, y down: a face before a dress, and hands folded on it. */
static int figure_at(double x, double y)
{
    if (in_ellipse(x, y, 200, 150, 62, 80)) return FACE;
    if (in_ellipse(x, y, 165, 400, 48, 24) || in_ellipse(x, y, 240, 408, 48, 24)) return HANDS;
    const double half = 60 + 110 * fmin(1, fmax(0, (y - 215) / 60));
    return y > 215 && fabs(x - 200) < half ? BODY : AROUND;
}

/* The cell of a place. */
static int cell_at(int x, int y) { return y * ROWS / HIGH * COLUMNS + x * COLUMNS / WIDE; }

/* Skin lit from the left, a dark dress with folds, a landscape that darkens downward; and brush
 * strokes over all. */
static void paint_portrait(void)
{
    static const double tint[][3] = {[AROUND] = {120, 135, 105},
                                     [BODY] = {70, 40, 60},
                                     [HANDS] = {215, 165, 130},
                                     [FACE] = {225, 175, 140}};
    png_image image = {
        .version = PNG_IMAGE_VERSION, .width = WIDE, .height = HIGH, .format = PNG_FORMAT_RGB};
    static uint8_t rgb[HIGH][WIDE][3];
    for (int y = 0; y < HIGH; y++)
        for (int x = 0; x < WIDE; x++) {
            const int index = figure_at(x + 0.5, y + 0.5);
            const double brush = 7 * sin(0.31 * x + 0.07 * y) * sin(0.11 * y - 0.05 * x);
            const double light = index == AROUND ? -0.06 * y
                                 : index == BODY ? 14 * sin(x / 13.0)
                                                 : -0.25 * (x - 200);
            for (int k = 0; k < 3; k++)
                rgb[y][x][k] = (uint8_t)fmin(255, fmax(0, tint[index][k] + brush + light));
        }
    assert_true(png_image_write_to_file(&image, in_room("portrait.png"), 0, rgb, 0, NULL));
}

typedef struct Line {
    int index, x0, y0, x1, y1;
} Line;

/* Off centre, as somebody draws: two or three a layer. */
static const Line drawn[] = {
    {AROUND, 30, 30, 60, 190},   {AROUND, 350, 40, 330, 200},  {AROUND, 120, 20, 280, 25},
    {AROUND, 12, 300, 14, 480},  {AROUND, 390, 300, 388, 470}, {BODY, 90, 280, 80, 460},
    {BODY, 320, 290, 330, 470},  {BODY, 190, 260, 200, 340},   {BODY, 180, 460, 240, 470},
    {HANDS, 140, 395, 190, 402}, {HANDS, 220, 405, 265, 410},  {FACE, 180, 110, 170, 180},
    {FACE, 225, 120, 230, 190},
};
enum { DRAWN = sizeof drawn / sizeof *drawn };

/* Strokes 7 pixels wide, at `scale` of the portrait's size. */
static void paint_strokes(const char *name, const Line *line, int lines, double scale)
{
    static const png_byte palette[5 * 3] = {0,  0,  0,  90,  90,  90,  200, 30,
                                            40, 30, 80, 200, 240, 200, 30};
    const int wide = (int)(WIDE * scale), high = (int)(HIGH * scale);
    png_image image = {.version = PNG_IMAGE_VERSION,
                       .width = (png_uint_32)wide,
                       .height = (png_uint_32)high,
                       .format = PNG_FORMAT_RGB_COLORMAP,
                       .colormap_entries = 5};
    uint8_t *index = calloc((size_t)wide, (size_t)high);
    for (int i = 0; i < wide * high; i++)
        for (const Line *l = line; l < line + lines; l++) {
            const double x = (i % wide + 0.5) / scale, y = (i / wide + 0.5) / scale;
            const double dx = l->x1 - l->x0, dy = l->y1 - l->y0;
            const double along = ((x - l->x0) * dx + (y - l->y0) * dy) / (dx * dx + dy * dy);
            const double t = fmin(1, fmax(0, along));
            if (hypot(x - l->x0 - t * dx, y - l->y0 - t * dy) < 3.5) index[i] = (uint8_t)l->index;
        }
    assert_true(png_image_write_to_file(&image, in_room(name), 0, index, 0, palette));
    free(index);
}

static void write_text(const char *name, const char *text)
{
    FILE *file = fopen(in_room(name), "w");
    assert_non_null(file);
    fputs(text, file);
    fclose(file);
}

#define THREE_LAYERS                                                                               \
    "[layer body]\nindex = 2\nheight = 3\nrise = 8\n"                                              \
    "[layer hands]\nindex = 3\nheight = 2\non = body\nrise = 4\n"                                  \
    "[layer face]\nindex = 4\nheight = 4\n"

static int setup(void **state)
{
    if (command_setup(state)) return -1;
    paint_portrait();
    paint_strokes("strokes.png", drawn, DRAWN, 1);
    write_text("layers.ini", THREE_LAYERS);
    return 0;
}

#define PLAN "rowlock plan portrait.png --columns 80 --dither none --touch 0 --book no --quote no "
#define STROKES "--strokes strokes.png --layers layers.ini "

static void run(const char *arguments, int code)
{
    const int got = shell(PLAN "%s", arguments);
    if (got != code) fail_msg("%s: %d, not %d: %s", arguments, got, code, command_said);
}

/* Indices of a picture of cells. */
static uint8_t *read_cells(const char *name)
{
    Raster raster;
    Fault fault;
    if (raster_read_indices(&raster, in_room(name), 1e9, &fault)) fail_msg("%s", fault.text);
    assert_int_equal(raster.kind, RASTER_INDEXED);
    assert_int_equal(raster.width, COLUMNS);
    assert_int_equal(raster.height, ROWS);
    return raster.sample;
}

static int true_index(int cell)
{
    return figure_at((cell % COLUMNS + 0.5) * WIDE / COLUMNS, (cell / COLUMNS + 0.5) * HIGH / ROWS);
}

static int figure_cells(void)
{
    int cells = 0;
    for (int i = 0; i < COLUMNS * ROWS; i++) cells += true_index(i) != AROUND;
    return cells;
}

/* ---- what comes of it ---- */

static void three_layers_are_found_and_raised(void **state)
{
    (void)state;
    run(STROKES "--out a && rowlock check a && ls a", 0);
    assert_non_null(strstr(command_said, "depth.png\n"));
    assert_non_null(strstr(command_said, "outlines.png\n"));
    uint8_t *layer = read_cells("a/layers.png"), *steps = read_cells("a/steps.png");
    int wrong = 0;
    for (int i = 0; i < COLUMNS * ROWS; i++) {
        wrong += layer[i] != true_index(i);
        assert_int_equal(steps[i] > 0, layer[i] != AROUND);
    }
    /* A quarter of a cell all along the outline, about. */
    if (wrong > figure_cells() * 3 / 100) fail_msg("%d cells of %d", wrong, figure_cells());
    assert_int_equal(steps[cell_at(200, 150)], 4); /* the middle of the face */
    assert_int_equal(steps[cell_at(166, 402)], 5); /* of a hand, on the body */
    assert_int_equal(steps[cell_at(202, 322)], 3);
    free(layer);
    free(steps);
}

static void threads_change_no_byte(void **state)
{
    (void)state;
    run(STROKES "--threads 1 --out t1", 0);
    run(STROKES "--threads 3 --out t3 && cmp t1/layers.png t3/layers.png && "
                "cmp t1/depth.png t3/depth.png && cmp t1/outlines.png t3/outlines.png && "
                "cmp t1/bricks.csv t3/bricks.csv",
        0);
}

/* The same strokes, at a third and at five halves of the size. */
static void strokes_may_have_any_size(void **state)
{
    (void)state;
    uint8_t *one = read_cells("a/layers.png");
    static const double scale[] = {0.34, 2.5};
    for (int k = 0; k < 2; k++) {
        int differ = 0;
        paint_strokes("other.png", drawn, DRAWN, scale[k]);
        run("--strokes other.png --layers layers.ini --out b", 0);
        uint8_t *other = read_cells("b/layers.png");
        for (int i = 0; i < COLUMNS * ROWS; i++) differ += one[i] != other[i];
        if (differ > figure_cells() / 100) fail_msg("scale %g: %d cells differ", scale[k], differ);
        free(other);
    }
    free(one);
}

/* A stroke on the ground in a gap that was filled: nothing of the figure changes further than 15
 * cells from it, to 3 % of the figure. */
static void a_correction_stays_where_it_is(void **state)
{
    (void)state;
    Line more[DRAWN + 1];
    memcpy(more, drawn, sizeof drawn);
    more[DRAWN] = (Line){AROUND, 45, 240, 60, 232};
    paint_strokes("more.png", more, DRAWN + 1, 1);
    run("--strokes more.png --layers layers.ini --out c", 0);
    uint8_t *one = read_cells("a/layers.png"), *other = read_cells("c/layers.png");
    int far = 0;
    for (int i = 0; i < COLUMNS * ROWS; i++)
        if (hypot(i % COLUMNS - 52.0 * COLUMNS / WIDE, i / COLUMNS - 236.0 * ROWS / HIGH) > 15)
            far += one[i] != other[i];
    if (far > figure_cells() * 3 / 100) fail_msg("%d of %d cells", far, figure_cells());
    assert_int_equal(other[cell_at(53, 238)], AROUND);
    free(one);
    free(other);
}

static void layers_come_back_as_labels(void **state)
{
    (void)state;
    run("--labels a/layers.png --layers layers.ini --out d && cmp a/layers.png d/layers.png && "
        "cmp a/steps.png d/steps.png && cmp a/depth.png d/depth.png && rowlock check d",
        0);
    /* A program that saves full colour, or another palette, loses nothing. */
    Raster r;
    assert_int_equal(raster_read_indices(&r, in_room("a/layers.png"), 1e9, NULL), 0);
    uint8_t *rgb = malloc(3 * COLUMNS * ROWS);
    for (int i = 0; i < COLUMNS * ROWS; i++) memcpy(rgb + 3 * i, r.rgb[r.sample[i]], 3);
    png_image image = {
        .version = PNG_IMAGE_VERSION, .width = COLUMNS, .height = ROWS, .format = PNG_FORMAT_RGB};
    assert_true(png_image_write_to_file(&image, in_room("rgb.png"), 0, rgb, 0, NULL));
    run("--labels rgb.png --layers layers.ini --out e && cmp a/layers.png e/layers.png", 0);
    for (int i = 0; i < COLUMNS * ROWS; i++) r.sample[i] = (uint8_t)(4 - r.sample[i]);
    uint8_t turned[5][3];
    for (int i = 0; i < 5; i++) memcpy(turned[i], r.rgb[4 - i], 3);
    image.format = PNG_FORMAT_RGB_COLORMAP;
    image.colormap_entries = 5;
    assert_true(png_image_write_to_file(&image, in_room("turned.png"), 0, r.sample, 0, turned));
    run("--labels turned.png --layers layers.ini --out e2 && cmp a/layers.png e2/layers.png", 0);
    raster_clear(&r);
    free(rgb);
}

/* All is drawn a cell too far to the right: labels stay as they are drawn, and move to the edges
 * where that is asked. */
static void labels_snap_where_that_is_asked(void **state)
{
    (void)state;
    uint8_t *layer = read_cells("a/layers.png"), *shifted = malloc(COLUMNS * ROWS);
    for (int i = 0; i < COLUMNS * ROWS; i++) shifted[i] = i % COLUMNS ? layer[i - 1] : layer[i];
    uint8_t palette[5][3];
    for (int i = 0; i < 5; i++) layer_colour(i, palette[i]);
    png_image image = {.version = PNG_IMAGE_VERSION,
                       .width = COLUMNS,
                       .height = ROWS,
                       .format = PNG_FORMAT_RGB_COLORMAP,
                       .colormap_entries = 5};
    assert_true(png_image_write_to_file(&image, in_room("shifted.png"), 0, shifted, 0, palette));
    run("--labels shifted.png --layers layers.ini --out f", 0);
    run("--labels shifted.png --layers layers.ini --label-snap 3 --out g", 0);
    uint8_t *plain = read_cells("f/layers.png"), *snapped = read_cells("g/layers.png");
    int before = 0, after = 0;
    assert_memory_equal(plain, shifted, COLUMNS * ROWS);
    for (int i = 0; i < COLUMNS * ROWS; i++) {
        before += plain[i] != true_index(i);
        after += snapped[i] != true_index(i);
    }
    if (2 * after > before) fail_msg("%d cells wrong before, %d after", before, after);
    free(layer);
    free(shifted);
    free(plain);
    free(snapped);
}

/* ---- steps and depth ---- */

static void steps_may_be_painted_in_full_colour_or_grey(void **state)
{
    (void)state;
    uint8_t *steps = read_cells("a/steps.png"), *rgb = malloc(3 * COLUMNS * ROWS);
    for (int i = 0; i < COLUMNS * ROWS; i++) step_colour(steps[i], rgb + 3 * i);
    png_image image = {
        .version = PNG_IMAGE_VERSION, .width = COLUMNS, .height = ROWS, .format = PNG_FORMAT_RGB};
    assert_true(png_image_write_to_file(&image, in_room("steps-rgb.png"), 0, rgb, 0, NULL));
    image.format = PNG_FORMAT_GRAY;
    assert_true(png_image_write_to_file(&image, in_room("steps-grey.png"), 0, steps, 0, NULL));
    run("--steps-map steps-rgb.png --out h && cmp a/steps.png h/steps.png", 0);
    run("--steps-map steps-grey.png --out i && cmp a/steps.png i/steps.png", 0);
    rgb[3 * (2 * COLUMNS + 4)] ^= 5;
    image.format = PNG_FORMAT_RGB;
    assert_true(png_image_write_to_file(&image, in_room("steps-smooth.png"), 0, rgb, 0, NULL));
    run("--steps-map steps-smooth.png --out j", 65);
    assert_non_null(strstr(command_said, "column 5, row 98: its colour is none of steps.png"));
    free(steps);
    free(rgb);
}

/* k / 6 as 16-bit grey comes through the smoothing as it is, at the cells' size and larger. */
static void depth_of_whole_steps_comes_through(void **state)
{
    (void)state;
    enum { TIMES = 3 };
    uint8_t *steps = read_cells("a/steps.png");
    for (int times = 1; times <= TIMES; times += TIMES - 1) {
        const int wide = COLUMNS * times, high = ROWS * times;
        uint8_t *grey = malloc((size_t)wide * (size_t)high);
        for (int i = 0; i < wide * high; i++) {
            const int cell = i / wide / times * COLUMNS + i % wide / times;
            grey[i] = (uint8_t)floor(steps[cell] * 255 / 6.0 + 0.5);
        }
        png_image image = {.version = PNG_IMAGE_VERSION,
                           .width = (png_uint_32)wide,
                           .height = (png_uint_32)high,
                           .format = PNG_FORMAT_GRAY};
        assert_true(png_image_write_to_file(&image, in_room("depth.png"), 0, grey, 0, NULL));
        run("--relief map --depth-map depth.png --steps 6 --out k && cmp a/steps.png k/steps.png",
            0);
        assert_non_null(strstr(command_said, "of whole steps and taken as it is; its tallest point "
                                             "stands at 5 of 6"));
        free(grey);
    }
    free(steps);
}

static void a_layer_may_take_its_relief_from_the_picture(void **state)
{
    (void)state;
    write_text("lit.ini", THREE_LAYERS "profile = relief\n");
    run("--strokes strokes.png --layers lit.ini --out l", 64);
    assert_non_null(strstr(command_said, "layer face takes its profile from a relief"));
    run("--strokes strokes.png --layers lit.ini --relief luminance --out l", 0);
    uint8_t *steps = read_cells("l/steps.png"); /* the face is lit from the left */
    assert_true(steps[cell_at(162, 150)] > steps[cell_at(242, 150)]);
    assert_true(steps[cell_at(242, 150)] >= 1);
    assert_int_equal(steps[cell_at(42, 42)], 0);
    free(steps);
}

static void too_high_is_cut_off_and_said(void **state)
{
    (void)state;
    run(STROKES "--steps 4 --out m", 0);
    assert_non_null(strstr(command_said, "layer hands come to more than 4 steps"));
    uint8_t *steps = read_cells("m/steps.png");
    for (int i = 0; i < COLUMNS * ROWS; i++) assert_true(steps[i] <= 4);
    free(steps);
}

/* What a wall cannot carry is lowered, and told by layer. */
static void a_wall_tells_by_layer_what_it_lowered(void **state)
{
    (void)state;
    write_text("jut.ini", "[layer body]\nindex = 2\nheight = 1\n[layer hands]\nindex = 3\n"
                          "height = 6\nprofile = plateau\non = body\n[layer face]\nindex = 4\n"
                          "height = 5\n");
    run("--strokes strokes.png --layers jut.ini --build wall --out n", 0);
    assert_non_null(strstr(command_said, "layer hands: "));
    assert_non_null(strstr(command_said, "lost look "));
    assert_non_null(strstr(command_said, " steps were asked for over "));
}

/* ---- faults ---- */

/* The cells of the first plan are picture enough, and strokes of their size. */
static void every_want_of_memory_is_told(void **state)
{
    (void)state;
    Job job;
    job_init(&job);
    paint_strokes("small.png", drawn, DRAWN, (double)COLUMNS / WIDE);
    snprintf(job.reference, sizeof job.reference, "%s", in_room("a/cells.png"));
    snprintf(job.out, sizeof job.out, "%s", in_room("scarce"));
    job.columns = 12;
    job.dither = DITHER_NONE;
    job.book = job.quote = 0;
    job.threads = 1;
    const Job flat = job;
    snprintf(job.strokes, sizeof job.strokes, "%s", in_room("small.png"));
    snprintf(job.layers, sizeof job.layers, "%s", in_room("layers.ini"));
    assert_int_equal(fail_allocations(&flat, &job), STATUS_OK);
}

static void what_does_not_fit_is_one_line(void **state)
{
    (void)state;
    Line face = {FACE, 180, 110, 170, 180};
    paint_strokes("alone.png", &face, 1, 1);
    paint_strokes("no-face.png", drawn, DRAWN - 2, 1);
    paint_strokes("no-ground.png", drawn + 5, DRAWN - 5, 1);
    write_text("two.ini", "[layer body]\nindex = 2\nheight = 3\n[layer hands]\nindex = 3\n"
                          "height = 1\n");
    write_text("circle.ini", "[layer body]\nindex = 2\nheight = 3\non = face\n[layer hands]\n"
                             "index = 3\nheight = 1\n[layer face]\nindex = 4\nheight = 1\n"
                             "on = body\n");
    static const struct {
        const char *arguments, *said;
        int code;
    } bad[] = {
        {"--strokes alone.png --layers layers.ini", "alone.png: no stroke on the ground, index 1",
         65},
        {"--strokes no-ground.png --layers layers.ini", "no stroke on the ground", 65},
        {"--strokes no-face.png --layers layers.ini", "layer face, index 4, has no stroke", 65},
        {"--strokes strokes.png --layers two.ini", "index 4 is no layer of two.ini", 65},
        {"--strokes strokes.png --layers circle.ini", "stands on itself", 65},
        {"--strokes strokes.png", "--strokes: nothing says what its layers are", 64},
        {"--labels strokes.png", "--labels: nothing says what its layers are", 64},
        {"--layers layers.ini", "--layers: nothing is drawn", 64},
        {"--strokes portrait.png --layers layers.ini", "is of no layer's colour", 65},
        {"--strokes none.png --layers layers.ini", "none.png: ", 66},
        {"--strokes layers.ini --layers layers.ini", "layers.ini: not a PNG", 65},
        {"--strokes strokes.png --layers none.ini", "none.ini: ", 66},
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        const int code = shell(PLAN "%s --out z", bad[i].arguments);
        if (code != bad[i].code || !strstr(command_said, bad[i].said))
            fail_msg("%s: %d: %s", bad[i].arguments, code, command_said);
        if (!strstr(command_said, "; ")) fail_msg("no way to mend: %s", command_said);
        assert_int_equal(shell("test -e z"), 1);
    }
}

static void another_shape_is_refused(void **state)
{
    (void)state;
    uint8_t index[40 * 90] = {0}, palette[6] = {0};
    png_image image = {.version = PNG_IMAGE_VERSION,
                       .width = 90,
                       .height = 40,
                       .format = PNG_FORMAT_RGB_COLORMAP,
                       .colormap_entries = 2};
    assert_true(png_image_write_to_file(&image, in_room("wide.png"), 0, index, 0, palette));
    run("--strokes wide.png --layers layers.ini --out z", 65);
    assert_non_null(strstr(command_said, "wide.png: is 90 x 40, not the shape"));
}

/* Every colour stands for one number, and back. */
static void colours_of_indices_are_all_different(void **state)
{
    (void)state;
    IndexColours steps, layers;
    index_colours_init(&steps, step_colour);
    index_colours_init(&layers, layer_colour);
    for (int i = 0; i < INDEX_COLOURS; i++) {
        uint8_t rgb[3];
        step_colour(i, rgb);
        assert_int_equal(index_of_colour(&steps, rgb), i);
        layer_colour(i, rgb);
        assert_int_equal(index_of_colour(&layers, rgb), i);
    }
    assert_int_equal(index_of_colour(&steps, (uint8_t[3]){1, 2, 3}), -1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(three_layers_are_found_and_raised),
        cmocka_unit_test(threads_change_no_byte),
        cmocka_unit_test(strokes_may_have_any_size),
        cmocka_unit_test(a_correction_stays_where_it_is),
        cmocka_unit_test(layers_come_back_as_labels),
        cmocka_unit_test(labels_snap_where_that_is_asked),
        cmocka_unit_test(steps_may_be_painted_in_full_colour_or_grey),
        cmocka_unit_test(depth_of_whole_steps_comes_through),
        cmocka_unit_test(a_layer_may_take_its_relief_from_the_picture),
        cmocka_unit_test(too_high_is_cut_off_and_said),
        cmocka_unit_test(a_wall_tells_by_layer_what_it_lowered),
        cmocka_unit_test(every_want_of_memory_is_told),
        cmocka_unit_test(what_does_not_fit_is_one_line),
        cmocka_unit_test(another_shape_is_refused),
        cmocka_unit_test(colours_of_indices_are_all_different),
    };
    return cmocka_run_group_tests(tests, setup, command_teardown);
}
