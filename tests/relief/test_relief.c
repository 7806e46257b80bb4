/* From depth to steps. The guided filter against its paper's equations written out window
 * by window; islands, pits and jumps against flood fill and the definition; fixtures by
 * formula whose steps are known; an elevation data set. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/memory.h"
#include "relief/guided.h"
#include "relief/islands.h"
#include "relief/relief.h"
#include "support/chance.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static uint32_t noise_state;
static double noise(void) { return chance_unit(&noise_state); }

/* ---- the guided filter ---- */

typedef struct Window {
    int left, right, below, above;
} Window;

static Window window_at(int x, int y, int radius, int columns, int rows)
{
    return (Window){x > radius ? x - radius : 0, x + radius < columns ? x + radius : columns - 1,
                    y > radius ? y - radius : 0, y + radius < rows ? y + radius : rows - 1};
}

/* Gaussian elimination with pivots, so that it shares nothing with the adjugate. */
static void solve3(double m[3][4], double out[3])
{
    for (int i = 0; i < 3; i++) {
        int pivot = i;
        for (int k = i; k < 3; k++)
            if (fabs(m[k][i]) > fabs(m[pivot][i])) pivot = k;
        for (int j = 0; j < 4; j++) {
            const double keep = m[i][j];
            m[i][j] = m[pivot][j];
            m[pivot][j] = keep;
        }
        for (int k = 0; k < 3; k++) {
            const double f = k == i ? 0 : m[k][i] / m[i][i];
            for (int j = 0; j < 4; j++) m[k][j] -= f * m[i][j];
        }
    }
    for (int i = 0; i < 3; i++) out[i] = m[i][3] / m[i][i];
}

/* He, Sun, Tang 2013, equations 16 to 19, over one window: mean first, then moments. */
static void window_fit(const float *guide, const float *input, int columns, Window w,
                       double epsilon, double out[4])
{
    double mean[4] = {0}, m[3][4] = {{0}};
    const int count = (w.right - w.left + 1) * (w.above - w.below + 1);
    for (int y = w.below; y <= w.above; y++)
        for (int x = w.left; x <= w.right; x++) {
            for (int k = 0; k < 3; k++) mean[k] += (double)guide[3 * (y * columns + x) + k] / count;
            mean[3] += (double)input[y * columns + x] / count;
        }
    for (int y = w.below; y <= w.above; y++)
        for (int x = w.left; x <= w.right; x++)
            for (int i = 0; i < 3; i++) {
                const double gi = (double)guide[3 * (y * columns + x) + i] - mean[i];
                for (int j = 0; j < 3; j++)
                    m[i][j] += gi * ((double)guide[3 * (y * columns + x) + j] - mean[j]) / count;
                m[i][3] += gi * ((double)input[y * columns + x] - mean[3]) / count;
            }
    for (int i = 0; i < 3; i++) m[i][i] += epsilon;
    solve3(m, out);
    out[3] = mean[3] - out[0] * mean[0] - out[1] * mean[1] - out[2] * mean[2];
}

static double filtered(const float *guide, const float *input, int columns, int rows, int x, int y,
                       int radius, double epsilon)
{
    const Window around = window_at(x, y, radius, columns, rows);
    double sum[4] = {0};
    int count = 0;
    for (int v = around.below; v <= around.above; v++)
        for (int u = around.left; u <= around.right; u++, count++) {
            double fit[4];
            window_fit(guide, input, columns, window_at(u, v, radius, columns, rows), epsilon, fit);
            for (int k = 0; k < 4; k++) sum[k] += fit[k];
        }
    double out = sum[3] / count;
    for (int k = 0; k < 3; k++) out += sum[k] / count * (double)guide[3 * (y * columns + x) + k];
    return out;
}

static void the_filter_is_its_papers(void **state)
{
    (void)state;
    static const int size[][3] = {{31, 150, 2}, {140, 9, 3}, {5, 4, 7}, {1, 1, 1}, {20, 70, 1}};
    noise_state = 5;
    for (size_t k = 0; k < sizeof size / sizeof *size; k++) {
        const int columns = size[k][0], rows = size[k][1], radius = size[k][2];
        const size_t cells = (size_t)columns * (size_t)rows;
        float *guide = malloc(cells * 3 * sizeof *guide), *input = malloc(cells * sizeof *input);
        float *out = malloc(cells * sizeof *out);
        for (size_t i = 0; i < cells; i++) {
            input[i] = (float)noise();
            for (int c = 0; c < 3; c++)
                guide[3 * i + (size_t)c] = (float)(0.3 * noise() + (i / 7 % 2 ? 0.5 : 0));
        }
        const GuidedOptions options = {radius, 0.01, 2, NULL};
        const GuidedInput planes = {columns, rows, guide, input};
        assert_int_equal(guided_filter(&options, &planes, out, NULL), 0);
        for (int y = 0; y < rows; y++)
            for (int x = 0; x < columns; x++)
                assert_true(fabs((double)out[y * columns + x] -
                                 filtered(guide, input, columns, rows, x, y, radius, 0.01)) < 2e-6);
        free(guide);
        free(input);
        free(out);
    }
}

/* ---- islands and pits ---- */

/* Cells of the part of {level >= k} (or < k, where below) that holds the cell: flood fill. */
static int part_size(const uint8_t *level, int columns, int rows, int cell, int k, bool below)
{
    char *seen = calloc((size_t)(columns * rows), 1);
    int *stack = malloc(sizeof *stack * (size_t)(columns * rows) * 4 + 16);
    int top = 0, count = 0;
    stack[top++] = cell;
    while (top) {
        const int at = stack[--top];
        if (seen[at] || (level[at] >= k) == below) continue;
        seen[at] = 1;
        count++;
        if (at % columns) stack[top++] = at - 1;
        if ((at + 1) % columns) stack[top++] = at + 1;
        if (at >= columns) stack[top++] = at - columns;
        if (at + columns < columns * rows) stack[top++] = at + columns;
    }
    free(seen);
    free(stack);
    return count;
}

/* The opening by its definition: the greatest k whose part around the cell is large. */
static void open_plainly(const uint8_t *in, int columns, int rows, int least, uint8_t *out)
{
    int lowest = 255;
    for (int i = 0; i < columns * rows; i++)
        if (in[i] < lowest) lowest = in[i];
    for (int i = 0; i < columns * rows; i++) {
        int k = in[i];
        while (k > lowest && part_size(in, columns, rows, i, k, false) < least) k--;
        out[i] = (uint8_t)k;
    }
}

static void invert(uint8_t *level, int cells)
{
    for (int i = 0; i < cells; i++) level[i] = (uint8_t)(255 - level[i]);
}

static void islands_are_closed_as_defined(void **state)
{
    (void)state;
    noise_state = 11;
    for (int turn = 0; turn < 60; turn++) {
        const int columns = 1 + (int)(noise() * 14), rows = 1 + (int)(noise() * 14);
        const int least = 1 + (int)(noise() * 12), levels = 2 + (int)(noise() * 5);
        uint8_t level[256], opened[256], closed[256];
        for (int i = 0; i < columns * rows; i++) level[i] = (uint8_t)(noise() * levels);
        open_plainly(level, columns, rows, least, opened);
        invert(opened, columns * rows);
        open_plainly(opened, columns, rows, least, closed);
        invert(closed, columns * rows);
        assert_int_equal(islands_close(level, columns, rows, least, NULL), 0);
        assert_memory_equal(level, closed, (size_t)(columns * rows));
    }
}

/* ---- fixtures ---- */

typedef struct Scene {
    Image guide;
    float *depth, *mask;
    uint8_t *steps;
    ReliefOptions options;
} Scene;

static Lab paint(double L, double a, double b) { return (Lab){L, a, b}; }

static void set_colour(Scene *s, int column, int row, Lab lab)
{
    const Xyz xyz = xyz_from_lab(lab);
    float *p = s->guide.xyz + 3 * (row * s->guide.columns + column);
    p[0] = (float)xyz.x;
    p[1] = (float)xyz.y;
    p[2] = (float)xyz.z;
}

static void scene_start(Scene *s, int columns, int rows)
{
    const size_t cells = (size_t)columns * (size_t)rows;
    memset(s, 0, sizeof *s);
    assert_int_equal(image_init(&s->guide, columns, rows, NULL), 0);
    s->depth = calloc(cells, sizeof *s->depth);
    s->mask = calloc(cells, sizeof *s->mask);
    s->steps = calloc(cells, 1);
    s->options = RELIEF_OPTIONS_DEFAULT;
    for (int row = 0; row < rows; row++)
        for (int column = 0; column < columns; column++)
            set_colour(s, column, row, paint(60, 10, 20));
}

static void scene_end(Scene *s)
{
    image_clear(&s->guide);
    free(s->depth);
    free(s->mask);
    free(s->steps);
}

static void derive(Scene *s, bool masked)
{
    Fault fault = {0};
    assert_int_equal(
        relief_steps(&s->options, &s->guide, s->depth, masked ? s->mask : NULL, s->steps, &fault),
        0);
}

static int step_at(const Scene *s, int column, int row)
{
    return s->steps[row * s->guide.columns + column];
}

static void constant_depth_is_one_level(void **state)
{
    (void)state;
    Scene s;
    scene_start(&s, 50, 40);
    for (int i = 0; i < 2000; i++) {
        s.depth[i] = 0.37f;
        s.mask[i] = i % 50 >= 10 && i % 50 < 30 ? 1 : 0.2f;
    }
    derive(&s, false);
    for (int i = 0; i < 2000; i++) assert_int_equal(s.steps[i], 0);
    derive(&s, true);
    for (int i = 0; i < 2000; i++) assert_int_equal(s.steps[i], s.mask[i] > 0.5f ? 6 : 0);
    scene_end(&s);
}

/* A ramp of L levels is L equal bands, to a column (methods for reliefs). */
static void a_ramp_is_equal_bands(void **state)
{
    (void)state;
    for (int steps = 1; steps <= 11; steps++) {
        Scene s;
        const int columns = 240, rows = 12;
        scene_start(&s, columns, rows);
        s.options.steps = steps;
        for (int i = 0; i < columns * rows; i++)
            s.depth[i] = (float)(0.1 + 0.8 * (i % columns) / (columns - 1));
        derive(&s, false);
        for (int row = 0; row < rows; row++)
            for (int k = 0; k <= steps; k++) {
                int first = 0;
                while (first < columns && step_at(&s, first, row) < k) first++;
                assert_true(abs(first - (int)lround((double)k * columns / (steps + 1))) <= 1);
            }
        scene_end(&s);
    }
}

/* Depth equal to a map of colour labels: no step inside a colour, whatever the shapes. */
static void a_label_map_steps_only_between_colours(void **state)
{
    (void)state;
    noise_state = 3;
    for (int turn = 0; turn < 12; turn++) {
        Scene s;
        enum { COLUMNS = 90, ROWS = 70, LABELS = 9 };
        scene_start(&s, COLUMNS, ROWS);
        s.options.steps = 2 + turn % 9;
        s.options.smooth = turn % 7;
        s.options.islands = 1;
        double centre[LABELS][2], depth[LABELS];
        Lab lab[LABELS];
        static char label[ROWS][COLUMNS];
        for (int k = 0; k < LABELS; k++) {
            centre[k][0] = noise() * COLUMNS;
            centre[k][1] = noise() * ROWS;
            depth[k] = noise();
            lab[k] = paint(10 + 10 * k, 60 * noise() - 30, 60 * noise() - 30);
        }
        for (int y = 0; y < ROWS; y++)
            for (int x = 0; x < COLUMNS; x++) {
                int best = 0;
                for (int k = 1; k < LABELS; k++)
                    if (hypot(x - centre[k][0], y - centre[k][1]) <
                        hypot(x - centre[best][0], y - centre[best][1]))
                        best = k;
                label[y][x] = (char)best;
                set_colour(&s, x, y, lab[best]);
                s.depth[y * COLUMNS + x] = (float)depth[best];
            }
        derive(&s, false);
        int used[LABELS], found = 0;
        for (int k = 0; k < LABELS; k++) used[k] = -1;
        for (int y = 0; y < ROWS; y++)
            for (int x = 0; x < COLUMNS; x++) {
                int *u = &used[(int)label[y][x]];
                if (*u < 0) *u = step_at(&s, x, y);
                assert_int_equal(step_at(&s, x, y), *u);
                if (*u > found) found = *u;
            }
        assert_int_equal(found, s.options.steps); /* the nearest colour is at the top */
        scene_end(&s);
    }
}

/* Known solids: floor(height x levels), away from the borders between levels. */
static void solids_by_formula_have_known_steps(void **state)
{
    (void)state;
    enum { SIZE = 121 };
    Scene s;
    scene_start(&s, SIZE, SIZE);
    const ReliefOptions plain = s.options;
    s.options.steps = 5;
    for (int y = 0; y < SIZE; y++) /* a cap of a sphere of radius 75 above a plane at 45 */
        for (int x = 0; x < SIZE; x++) {
            const double r2 = pow(x - 60, 2) + pow(y - 60, 2);
            s.depth[y * SIZE + x] = (float)fmax(0, sqrt(fmax(0, 75 * 75 - r2)) - 45);
        }
    derive(&s, false);
    int off = 0;
    for (int i = 0; i < SIZE * SIZE; i++) {
        const double levels = (double)s.depth[i] / 30 * 6;
        const int known = levels >= 6 ? 5 : (int)levels;
        off += s.steps[i] != known && fabs(levels - round(levels)) > 0.25;
        assert_true(abs(s.steps[i] - known) <= 1);
    }
    assert_int_equal(off, 0);
    s.options.smooth = 0; /* then only the hysteresis, a tenth of a step, is between them */
    s.options.islands = 1;
    derive(&s, false);
    for (int i = 0; i < SIZE * SIZE; i++) {
        const double levels = (double)s.depth[i] / 30 * 6;
        const int known = levels >= 6 ? 5 : (int)levels;
        if (fabs(levels - round(levels)) > 0.1) assert_int_equal(s.steps[i], known);
    }
    s.options = plain;
    s.options.steps = 4;
    for (int y = 0; y < SIZE; y++) /* a stepped pyramid, terraces 12 cells wide */
        for (int x = 0; x < SIZE; x++) {
            const int rim = (int)fmin(fmin(x, SIZE - 1 - x), fmin(y, SIZE - 1 - y));
            const int terrace = rim / 12 > 4 ? 4 : rim / 12;
            s.depth[y * SIZE + x] = (float)terrace;
            set_colour(&s, x, y, paint(20 + 15 * terrace, 0, 10)); /* painted by terrace */
        }
    derive(&s, false);
    for (int i = 0; i < SIZE * SIZE; i++) assert_int_equal(s.steps[i], (int)s.depth[i]);
    scene_end(&s);
}

/* An elevation model: steps rise and fall with it, are smooth, and islands are gone. */
static void an_elevation_model_is_followed(void **state)
{
    (void)state;
    FILE *file = fopen("tests/data/relief/volcano.pgm", "r");
    char line[200];
    int columns = 0, rows = 0, most = 0;
    assert_non_null(file);
    while (fgets(line, sizeof line, file) && (*line == 'P' || *line == '#')) {
    }
    assert_int_equal(sscanf(line, "%d %d", &columns, &rows), 2);
    assert_int_equal(fscanf(file, "%d", &most), 1);
    Scene s;
    scene_start(&s, columns, rows);
    s.options.steps = 9;
    double sum = 0;
    for (int i = 0; i < columns * rows; i++) {
        int value;
        assert_int_equal(fscanf(file, "%d", &value), 1);
        s.depth[i] = (float)value;
        sum += value;
    }
    fclose(file);
    assert_int_equal(columns * rows, 5307);
    assert_true(fabs(sum / 5307 - 130.1879) < 1e-4); /* R's mean(volcano), from memory */
    derive(&s, false);
    int top = 0, far = 0;
    for (int i = 0; i < columns * rows; i++) {
        const double levels = ((double)s.depth[i] - 94) / 101 * 10;
        const double off = fabs(s.steps[i] + 0.5 - fmin(9.999, levels));
        assert_true(off < 3); /* at the crater's walls, which the plain guide lets blur */
        far += off > 1.25;
        if (s.steps[i] > top) top = s.steps[i];
        for (int k = 1; k <= s.steps[i]; k++)
            assert_true(part_size(s.steps, columns, rows, i, k, false) >= s.options.islands);
    }
    assert_int_equal(top, 9);
    assert_true(far < 5307 / 20);
    scene_end(&s);
}

/* Noise about a border between two levels must not fray it: hysteresis. */
static void noise_about_a_border_makes_no_step(void **state)
{
    (void)state;
    Scene s;
    scene_start(&s, 60, 60);
    s.options.steps = 3;
    s.options.smooth = 0;
    s.options.islands = 1;
    noise_state = 9;
    for (int i = 0; i < 3600; i++) s.depth[i] = (float)(0.5 + 0.04 * (noise() - 0.5));
    s.depth[0] = 0; /* the range, at two corners */
    s.depth[3599] = 1;
    derive(&s, false);
    for (int i = 1; i < 3599; i++) assert_int_equal(s.steps[i], s.steps[1]);
    scene_end(&s);
}

static void the_curve_leaves_more_to_what_is_near(void **state)
{
    (void)state;
    Scene s;
    scene_start(&s, 200, 4);
    s.options.steps = 7;
    s.options.smooth = 0;
    s.options.curve = 6;
    for (int i = 0; i < 800; i++) s.depth[i] = (float)(i % 200) / 199;
    derive(&s, false);
    for (int k = 1; k < 8; k++) { /* z = 1 - ln(1 + 6 (1 - d)) / ln 7, solved for k / 8 */
        const double d = 1 - (pow(7, 1 - k / 8.0) - 1) / 6;
        int first = 0;
        while (step_at(&s, first, 1) < k) first++;
        assert_true(fabs(first - d * 199) <= 2.6); /* hysteresis is a tenth of a band */
    }
    scene_end(&s);
}

/* ---- promises on random depth ---- */

/* The cap by its definition: least over all cells of its steps and the jumps to it. */
static void jumps_are_capped_and_islands_gone(void **state)
{
    (void)state;
    noise_state = 21;
    for (int turn = 0; turn < 20; turn++) {
        Scene s;
        enum { COLUMNS = 23, ROWS = 17 };
        scene_start(&s, COLUMNS, ROWS);
        s.options.steps = 9;
        s.options.smooth = turn % 2;
        s.options.jump = 1 + turn % 3;
        s.options.islands = 2 + turn % 7;
        for (int i = 0; i < COLUMNS * ROWS; i++) {
            s.depth[i] = (float)noise();
            s.mask[i] = (float)(i % COLUMNS > 4);
        }
        derive(&s, turn % 4 == 3);
        for (int i = 0; i < COLUMNS * ROWS; i++) {
            if ((i + 1) % COLUMNS) assert_true(abs(s.steps[i] - s.steps[i + 1]) <= s.options.jump);
            if (i + COLUMNS < COLUMNS * ROWS)
                assert_true(abs(s.steps[i] - s.steps[i + COLUMNS]) <= s.options.jump);
            int least = 255;
            for (int k = 0; k < COLUMNS * ROWS; k++)
                if (s.steps[k] < least) least = s.steps[k];
            for (int k = least + 1; k <= s.steps[i]; k++)
                assert_true(part_size(s.steps, COLUMNS, ROWS, i, k, false) >= s.options.islands);
            for (int k = s.steps[i] + 1; k <= 9; k++)
                assert_true(part_size(s.steps, COLUMNS, ROWS, i, k, true) >= s.options.islands);
        }
        scene_end(&s);
    }
}

static void outside_a_mask_nothing_rises(void **state)
{
    (void)state;
    Scene s;
    scene_start(&s, 80, 60);
    noise_state = 2;
    for (int y = 0; y < 60; y++)
        for (int x = 0; x < 80; x++) {
            const bool in = hypot(x - 40, y - 30) < 20;
            s.mask[y * 80 + x] = in;
            s.depth[y * 80 + x] = (float)(in ? 0.3 + 0.2 * noise() : 1);
        }
    derive(&s, true);
    for (int i = 0; i < 4800; i++) {
        if (s.mask[i] > 0.5f) assert_in_range(s.steps[i], 1, 6);
        if (s.mask[i] < 0.5f) assert_int_equal(s.steps[i], 0);
    }
    scene_end(&s);
}

/* L* of greys by the CIE's own inverse: the test's colours are made from L*. */
/* Few greys at even distances, wherever they begin and end: a chessboard of single cells, which
 * smoothing and closing islands would not leave. Within a mask the lowest grey is one step. */
static void even_greys_are_whole_steps(void **state)
{
    (void)state;
    enum { WIDE = 40, HIGH = 30, GREYS = 4 };
    for (int masked = 0; masked < 2; masked++) {
        Scene s;
        scene_start(&s, WIDE, HIGH);
        s.options.whole = true;
        s.options.steps = GREYS - 1 + masked;
        for (int i = 0; i < WIDE * HIGH; i++) {
            const int grey = (i % WIDE / 10 + i % WIDE % 2) % GREYS;
            s.depth[i] = (float)((20 + 60 * grey) / 255.0);
            s.mask[i] = i / WIDE > 2;
        }
        derive(&s, masked);
        const ReliefMap map = {WIDE * HIGH, s.depth, masked ? s.mask : NULL};
        assert_true(relief_is_whole(&s.options, &map));
        for (int i = 0; i < WIDE * HIGH; i++) {
            const int grey = (i % WIDE / 10 + i % WIDE % 2) % GREYS;
            const int wanted = !masked ? grey : i / WIDE > 2 ? grey + 1 : 0;
            assert_int_equal(s.steps[i], wanted);
        }
        for (int i = 0; i < WIDE * HIGH; i++) s.depth[i] = (float)(i % WIDE) / WIDE;
        assert_false(relief_is_whole(&s.options, &map));
        scene_end(&s);
    }
}

/* ---- a stereo pair ---- */

/* Of a left-hand view: a far wall that slants, and two things before it. Disparity in pixels grows
 * as 1 / distance, which is what matters here: the nearer, the larger. */
typedef struct Stereo {
    float disparity;
    int thing;
} Stereo;

static Stereo stereo_at(double x, double y)
{
    if (hypot(x - 0.35, y - 0.45) < 0.2) return (Stereo){40, 2}; /* a disc, upright */
    if (x > 0.6 && x < 0.9 && y > 0.2 && y < 0.7) return (Stereo){28, 1};
    return (Stereo){(float)(8 + 6 * x), 0};
}

/* Disparity as matching gives it, made by formula: off by up to half a pixel, a tenth of it holes
 * (0, as is the practice), and nothing known left of what stands in front, since the right-hand
 * view does not see it there. The picture knows better, so steps keep to its edges. */
static void disparity_of_a_stereo_pair_is_followed(void **state)
{
    (void)state;
    enum { WIDE = 120, HIGH = 90 };
    static const double lightness[] = {45, 70, 25};
    Scene s;
    scene_start(&s, WIDE, HIGH);
    s.options.steps = 5;
    noise_state = 17;
    for (int row = 0; row < HIGH; row++)
        for (int column = 0; column < WIDE; column++) {
            const int i = row * WIDE + column;
            const double x = (column + 0.5) / WIDE, y = (row + 0.5) / HIGH;
            const Stereo here = stereo_at(x, y);
            const Stereo right = stereo_at(x + 0.03, y);
            const bool hidden = right.thing > here.thing;
            const bool hole = noise() < 0.1;
            set_colour(&s, column, row,
                       paint(lightness[here.thing] + 2 * noise(), 10 * here.thing, 20));
            s.depth[i] = hidden || hole ? 0 : here.disparity + (float)(noise() - 0.5);
        }
    derive(&s, false);
    /* 0.2 to 0.35 of the range, 0.7 and 1, of which holes take their part. To the cell: what is of
     * a thing has its steps, whatever the noise. */
    static const int least[] = {0, 3, 4}, most[] = {1, 4, 5};
    int low = 0, hidden = 0;
    for (int i = 0; i < WIDE * HIGH; i++) {
        const double x = (i % WIDE + 0.5) / WIDE, y = (i / WIDE + 0.5) / HIGH;
        const int thing = stereo_at(x, y).thing;
        if (s.steps[i] < least[thing] || s.steps[i] > most[thing])
            fail_msg("column %d, row %d: %d steps", i % WIDE, i / WIDE, s.steps[i]);
        low += s.steps[i] == 0;
        hidden += stereo_at(x + 0.03, y).thing > thing;
    }
    /* Holes alone make no pits; what the right-hand view hides may sink, and smoothing by 3 cells
     * takes some beside it along. */
    assert_in_range(low, 0, 3 * hidden);
    scene_end(&s);
}

static void luminance_is_lightness(void **state)
{
    (void)state;
    Scene s;
    scene_start(&s, 5, 1);
    float light[5], dark[5];
    for (int x = 0; x < 5; x++) set_colour(&s, x, 0, paint(25.0 * x, 0, 0));
    relief_luminance(&s.guide, false, light);
    relief_luminance(&s.guide, true, dark);
    for (int x = 0; x < 5; x++) {
        assert_true(fabs((double)light[x] - 0.25 * x) < 1e-5);
        assert_true(fabs((double)dark[x] - (1 - 0.25 * x)) < 1e-5);
    }
    scene_end(&s);
}

/* A contour two cells wide, painted dark across a light shape, is no trench. */
static void a_contour_is_no_trench(void **state)
{
    (void)state;
    Scene s;
    scene_start(&s, 60, 40);
    for (int y = 0; y < 40; y++)
        for (int x = 0; x < 60; x++)
            set_colour(&s, x, y, paint(x < 10 ? 20 : x == 30 || x == 31 ? 5 : 90, 0, 0));
    relief_luminance(&s.guide, false, s.depth);
    s.options.trench = 1;
    derive(&s, false);
    for (int y = 0; y < 40; y++) assert_int_equal(step_at(&s, 30, y), step_at(&s, 45, y));
    assert_true(step_at(&s, 45, 20) > step_at(&s, 5, 20));
    scene_end(&s);
}

static void threads_change_nothing(void **state)
{
    (void)state;
    Scene s;
    scene_start(&s, 131, 211);
    noise_state = 77;
    for (int y = 0; y < 211; y++)
        for (int x = 0; x < 131; x++) {
            s.depth[y * 131 + x] = (float)(noise() + sin(x / 9.0) + cos(y / 13.0));
            set_colour(&s, x, y, paint(50 + 30 * sin(x / 5.0), 20 * cos(y / 7.0), 10 * noise()));
        }
    s.options.steps = 8;
    uint8_t *one = malloc(131 * 211), *four = malloc(131 * 211);
    assert_int_equal(relief_steps(&s.options, &s.guide, s.depth, NULL, one, NULL), 0);
    s.options.threads = 4;
    assert_int_equal(relief_steps(&s.options, &s.guide, s.depth, NULL, four, NULL), 0);
    assert_memory_equal(one, four, 131 * 211);
    free(one);
    free(four);
    scene_end(&s);
}

static void every_allocation_may_fail(void **state)
{
    (void)state;
    Scene s;
    scene_start(&s, 20, 20);
    noise_state = 1;
    for (int i = 0; i < 400; i++) s.depth[i] = (float)noise();
    s.options.jump = 2;
    int failed = 0;
    for (long n = 0;; n++) {
        Fault fault = {0};
        memory_fail_after(n);
        const Status status = relief_steps(&s.options, &s.guide, s.depth, NULL, s.steps, &fault);
        memory_fail_after(-1);
        if (!status) break;
        assert_int_equal(status, STATUS_NO_RESOURCE);
        failed++;
    }
    assert_in_range(failed, 10, 30);
    scene_end(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_filter_is_its_papers),
        cmocka_unit_test(islands_are_closed_as_defined),
        cmocka_unit_test(constant_depth_is_one_level),
        cmocka_unit_test(a_ramp_is_equal_bands),
        cmocka_unit_test(a_label_map_steps_only_between_colours),
        cmocka_unit_test(solids_by_formula_have_known_steps),
        cmocka_unit_test(an_elevation_model_is_followed),
        cmocka_unit_test(noise_about_a_border_makes_no_step),
        cmocka_unit_test(the_curve_leaves_more_to_what_is_near),
        cmocka_unit_test(jumps_are_capped_and_islands_gone),
        cmocka_unit_test(outside_a_mask_nothing_rises),
        cmocka_unit_test(even_greys_are_whole_steps),
        cmocka_unit_test(disparity_of_a_stereo_pair_is_followed),
        cmocka_unit_test(luminance_is_lightness),
        cmocka_unit_test(a_contour_is_no_trench),
        cmocka_unit_test(threads_change_nothing),
        cmocka_unit_test(every_allocation_may_fail),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
