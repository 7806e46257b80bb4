/* Heights of layers against solutions in closed form: the strip and the annulus of Poisson's
 * equation, the strip of the screened one, and the half ellipsoid over a disc; against counts of
 * steps that were worked out by a direct solver elsewhere; and the file that tells of layers. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/memory.h"
#include "layers/edge_distance.h"
#include "layers/five_point.h"
#include "layers/heights.h"
#include "support/chance.h"
#include "support/scratch.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SIDE = 65, CELLS = SIDE * SIDE, MIDDLE = 32 };

/* ---- Poisson's equation ---- */

/* Solves -laplacian u + pull u = 4 where outside is 0. */
static void solve(const uint8_t *outside, int columns, int rows, double pull, float *u)
{
    const size_t cells = (size_t)columns * (size_t)rows;
    float *four = malloc(cells * sizeof *four);
    for (size_t i = 0; i < cells; i++) four[i] = 4, u[i] = 0;
    FivePoint system;
    const FivePointTerms terms = {columns, rows, NULL, NULL, outside, pull};
    assert_int_equal(five_point_init(&system, &terms, NULL), 0);
    assert_int_equal(five_point_solve(&system, four, 1e-5, u, NULL, NULL), 0);
    five_point_clear(&system);
    free(four);
}

static void about(double value, double wanted, double within)
{
    if (fabs(value - wanted) > within) fail_msg("%.6g, not %.6g +- %g", value, wanted, within);
}

/* u(i) = 2 i (w + 1 - i) satisfies the equations of a strip exactly; so does, with a pull of
 * 1 / l^2, 4 l^2 (1 - cosh(t (i - 16)) / cosh(16 t)), cosh t = 1 + 1 / (2 l^2). */
static void strips_are_their_formulas(void **state)
{
    (void)state;
    enum { WIDE = 33, HIGH = 9 };
    uint8_t outside[WIDE * HIGH] = {0};
    float u[WIDE * HIGH];
    for (int y = 0; y < HIGH; y++) outside[y * WIDE] = outside[y * WIDE + WIDE - 1] = 1;
    solve(outside, WIDE, HIGH, 0, u);
    for (int y = 0; y < HIGH; y++)
        for (int i = 0; i < WIDE; i++)
            about((double)u[y * WIDE + i], 2.0 * i * (WIDE - 1 - i), 0.005); /* 512 * 1e-5 */
    const double l = 4, t = acosh(1 + 1 / (2 * l * l));
    solve(outside, WIDE, HIGH, 1 / (l * l), u);
    for (int i = 0; i < WIDE; i++)
        about((double)u[4 * WIDE + i], 4 * l * l * (1 - cosh(t * (i - 16)) / cosh(16 * t)), 0.001);
    about((double)u[4 * WIDE + 1], 14.1135, 0.001);
    about((double)u[4 * WIDE + 16], 61.632, 0.001);
}

static int ring(double inner, double outer, uint8_t *outside)
{
    int cells = 0;
    for (int i = 0; i < CELLS; i++) {
        const double r = hypot(i % SIDE - MIDDLE, i / SIDE - MIDDLE);
        outside[i] = !(r > inner && r <= outer);
        cells += !outside[i];
    }
    return cells;
}

/* Half an ellipsoid: sqrt u = sqrt((R + .35)^2 - r^2), to 1.6 % of R but in the outermost cell. */
static void discs_are_half_ellipsoids(void **state)
{
    (void)state;
    static const struct {
        double radius;
        int cells;
        double top;
    } disc[] = {{8.5, 225, 8.8190}, {12.5, 489, 12.8484}, {24.5, 1885, 24.8659}};
    uint8_t outside[CELLS];
    float u[CELLS];
    double sum = 0;
    for (size_t k = 0; k < 3; k++) {
        const double R = disc[k].radius;
        assert_int_equal(ring(-1, R, outside), disc[k].cells);
        solve(outside, SIDE, SIDE, 0, u);
        about(sqrt((double)u[MIDDLE * SIDE + MIDDLE]), disc[k].top, 1e-3);
        sum = 0;
        for (int i = 0; i < CELLS; i++) {
            const double r = hypot(i % SIDE - MIDDLE, i / SIDE - MIDDLE);
            sum += (double)u[i];
            if (r < R - 1)
                about(sqrt((double)u[i]), sqrt((R + 0.35) * (R + 0.35) - r * r), 0.016 * R);
        }
    }
    about(sum, 600252, 3);
}

/* u = B^2 - r^2 - (B^2 - A^2) ln(B / r) / ln(B / A), to 2.8 % of its root's greatest. */
static void a_ring_is_its_formula(void **state)
{
    (void)state;
    const double A = 6.15, B = 24.85;
    uint8_t outside[CELLS];
    float u[CELLS];
    double sum = 0, most = 0;
    ring(6.5, 24.5, outside);
    solve(outside, SIDE, SIDE, 0, u);
    for (int i = 0; i < CELLS; i++) sum += (double)u[i], most = fmax(most, (double)u[i]);
    about(most, 182.655, 0.002);
    about((double)u[MIDDLE * SIDE + 47], 182.305, 0.002);
    about(sum, 217104, 2);
    for (int i = 0; i < CELLS; i++) {
        const double r = hypot(i % SIDE - MIDDLE, i / SIDE - MIDDLE);
        if (!(r > 7.5 && r < 23.5)) continue;
        const double formula = B * B - r * r - (B * B - A * A) * log(B / r) / log(B / A);
        about(sqrt((double)u[i]), sqrt(formula), 0.028 * sqrt(most));
    }
}

/* ---- distance ---- */

static void distances_are_the_nearest(void **state)
{
    (void)state;
    enum { WIDE = 37, HIGH = 23 };
    uint8_t inside[WIDE * HIGH];
    float d[WIDE * HIGH];
    uint32_t noise = 7;
    for (int i = 0; i < WIDE * HIGH; i++) inside[i] = (chance(&noise) >> 16) > 3;
    assert_int_equal(edge_distance(inside, WIDE, HIGH, d, NULL), 0);
    for (int i = 0; i < WIDE * HIGH; i++) {
        double least = INFINITY;
        for (int k = 0; k < WIDE * HIGH; k++)
            if (!inside[k]) least = fmin(least, hypot(i % WIDE - k % WIDE, i / WIDE - k / WIDE));
        about((double)d[i], least, 1e-5);
    }
    memset(inside, 1, sizeof inside);
    assert_int_equal(edge_distance(inside, WIDE, HIGH, d, NULL), 0);
    assert_true(isinf(d[0]) && isinf(d[WIDE * HIGH - 1]));
}

/* ---- forms ---- */

static LayerList one_layer(Layer layer)
{
    LayerList list = {.count = 2};
    list.layer[0] = (Layer){.name = "ground", .index = 1};
    layer.index = 2;
    list.layer[1] = layer;
    return list;
}

static void disc_labels(double radius, uint8_t *label)
{
    uint8_t outside[CELLS];
    ring(-1, radius, outside);
    for (int i = 0; i < CELLS; i++) label[i] = !outside[i];
}

static void steps_of(const LayerList *list, const uint8_t *label, uint8_t *steps)
{
    static float height[CELLS], L[CELLS];
    size_t over[LAYERS_MOST];
    for (int i = 0; i < CELLS; i++) L[i] = 50;
    const HeightsInput input = {list, SIDE, SIDE, label, L, NULL};
    assert_int_equal(heights_solve(&input, 2, height, NULL, NULL), 0);
    heights_round(&input, height, 120, steps, over);
}

static void forms_of_a_disc(void **state)
{
    (void)state;
    static const struct {
        Layer layer;
        int count[7];
    } form[] = {
        {{.height = 6, .profile = PROFILE_ROUNDED, .rise = INFINITY},
         {2340, 0, 128, 300, 468, 616, 373}},
        {{.height = 6, .profile = PROFILE_ROUNDED, .rise = 4}, {2340, 0, 0, 136, 248, 528, 973}},
        {{.height = 6, .profile = PROFILE_PLATEAU, .rise = 3}, {2340, 0, 136, 56, 128, 124, 1441}},
        {{.height = 6, .profile = PROFILE_PLATEAU, .rise = 0}, {2340, 0, 0, 0, 0, 0, 1885}},
        {{.height = 6, .profile = PROFILE_SLOPE, .rise = 10}, {2340, 192, 252, 280, 220, 224, 717}},
    };
    uint8_t label[CELLS], steps[CELLS];
    disc_labels(24.5, label);
    for (size_t k = 0; k < sizeof form / sizeof *form; k++) {
        int count[7] = {0};
        const LayerList list = one_layer(form[k].layer);
        steps_of(&list, label, steps);
        for (int i = 0; i < CELLS; i++) count[steps[i]]++;
        for (int s = 0; s < 7; s++)
            if (count[s] != form[k].count[s])
                fail_msg("form %zu: %d cells of %d steps, not %d", k, count[s], s,
                         form[k].count[s]);
        if (k) continue;
        static const uint8_t row[] = {2, 3, 3, 4, 4, 4, 4, 5, 5, 5, 5, 5, 5, 5, 6};
        assert_memory_equal(steps + MIDDLE * SIDE + 8, row, sizeof row);
    }
}

/* A head of 3 on a body of 4: the body's region reaches under the head. */
static void layers_stand_on_layers(void **state)
{
    (void)state;
    uint8_t label[CELLS], steps[CELLS], alone[CELLS];
    LayerList list = one_layer((Layer){.height = 4, .profile = PROFILE_ROUNDED, .rise = 6});
    disc_labels(20, label);
    steps_of(&list, label, alone);
    for (int i = 0; i < CELLS; i++)
        if (hypot(i % SIDE - MIDDLE, i / SIDE - MIDDLE) <= 5) label[i] = 2;
    list.count = 3;
    list.layer[2] = (Layer){.index = 3, .height = 3, .profile = PROFILE_PLATEAU, .on = 1};
    steps_of(&list, label, steps);
    for (int i = 0; i < CELLS; i++)
        if (steps[i] != alone[i] + (label[i] == 2 ? 3 : 0))
            fail_msg("cell %d: %d steps on %d", i, steps[i], alone[i]);
}

static void what_is_too_high_is_cut_off_and_counted(void **state)
{
    (void)state;
    uint8_t label[CELLS], steps[CELLS];
    float height[CELLS], L[CELLS] = {0};
    size_t over[LAYERS_MOST];
    const LayerList list = one_layer((Layer){.height = 6, .profile = PROFILE_PLATEAU});
    disc_labels(12.5, label);
    const HeightsInput input = {&list, SIDE, SIDE, label, L, NULL};
    assert_int_equal(heights_solve(&input, 1, height, NULL, NULL), 0);
    heights_round(&input, height, 4, steps, over);
    assert_int_equal(over[1], 489);
    assert_int_equal(over[0], 0);
    for (int i = 0; i < CELLS; i++) assert_int_equal(steps[i], label[i] ? 4 : 0);
}

/* A layer that fills the picture has no outline, and stands at its height; one that the frame
 * cuts has its outline elsewhere alone. */
static void the_frame_is_no_outline(void **state)
{
    (void)state;
    uint8_t label[CELLS], steps[CELLS];
    const LayerList list = one_layer((Layer){.height = 5, .profile = PROFILE_ROUNDED, .rise = 5});
    memset(label, 1, sizeof label);
    steps_of(&list, label, steps);
    for (int i = 0; i < CELLS; i++) assert_int_equal(steps[i], 5);
    for (int i = 0; i < CELLS; i++) label[i] = i % SIDE >= 30;
    steps_of(&list, label, steps);
    for (int i = 0; i < CELLS; i++) {
        assert_int_equal(steps[i], steps[i % SIDE]);
        if (i % SIDE == SIDE - 1) assert_int_equal(steps[i], 5);
    }
}

/* The job's depth inside the outline, whatever it is outside. */
static void a_layer_takes_its_relief_from_a_map(void **state)
{
    (void)state;
    uint8_t label[CELLS], steps[CELLS];
    float height[CELLS], L[CELLS] = {0}, depth[CELLS];
    size_t over[LAYERS_MOST];
    const LayerList list = one_layer((Layer){.height = 5, .profile = PROFILE_RELIEF});
    for (int i = 0; i < CELLS; i++) {
        label[i] = i % SIDE >= 10 && i % SIDE <= 50;
        depth[i] = label[i] ? 0.3f + 0.01f * (float)(i % SIDE) : 1;
    }
    const HeightsInput input = {&list, SIDE, SIDE, label, L, depth};
    assert_int_equal(heights_solve(&input, 1, height, NULL, NULL), 0);
    heights_round(&input, height, 9, steps, over);
    for (int i = 0; i < CELLS; i++) {
        const double z = (i % SIDE - 10) / 40.0;
        about((double)height[i], label[i] ? 1 + 4 * z : 0, 1e-4);
    }
}

/* Light cells stand out by up to a step, single ones do not, and none of the layer sinks. */
static void texture_follows_light(void **state)
{
    (void)state;
    uint8_t label[CELLS], steps[CELLS];
    float height[CELLS], L[CELLS];
    size_t over[LAYERS_MOST];
    const LayerList list =
        one_layer((Layer){.height = 3, .profile = PROFILE_PLATEAU, .texture = 1});
    for (int i = 0; i < CELLS; i++) {
        label[i] = i % SIDE >= 5;
        L[i] = i % SIDE / 6 % 2 ? 60 : 40;
    }
    L[20 * SIDE + 14] = 90; /* in a dark band */
    const HeightsInput input = {&list, SIDE, SIDE, label, L, NULL};
    assert_int_equal(heights_solve(&input, 1, height, NULL, NULL), 0);
    heights_round(&input, height, 9, steps, over);
    for (int row = 10; row < 55; row++) {
        assert_int_equal(steps[row * SIDE + 2], 0);
        assert_int_equal(steps[row * SIDE + 33], 4);
        assert_int_equal(steps[row * SIDE + 39], 2);
    }
    assert_true(steps[20 * SIDE + 14] <= 2);
}

static void mirrored_layers_give_mirrored_steps(void **state)
{
    (void)state;
    uint8_t label[CELLS], turned[CELLS], steps[CELLS], other[CELLS];
    const LayerList list = one_layer((Layer){.height = 6, .profile = PROFILE_ROUNDED, .rise = 6});
    for (int i = 0; i < CELLS; i++) {
        const int x = i % SIDE, y = i / SIDE;
        label[i] = hypot(x - 20, y - 30) < 14.3 || (x > 20 && x < 45 && y > 11 && y < 20);
        turned[i / SIDE * SIDE + SIDE - 1 - x] = label[i];
    }
    steps_of(&list, label, steps);
    steps_of(&list, turned, other);
    for (int i = 0; i < CELLS; i++)
        assert_int_equal(steps[i], other[i / SIDE * SIDE + SIDE - 1 - i % SIDE]);
}

static void every_want_of_memory_is_told(void **state)
{
    (void)state;
    uint8_t label[CELLS];
    float height[CELLS], L[CELLS] = {0};
    LayerList list =
        one_layer((Layer){.height = 6, .profile = PROFILE_ROUNDED, .rise = 6, .texture = 0.5});
    list.count = 3;
    list.layer[2] = (Layer){.index = 3, .height = 3, .profile = PROFILE_SLOPE, .rise = 5};
    disc_labels(20, label);
    label[0] = 2;
    const HeightsInput input = {&list, SIDE, SIDE, label, L, NULL};
    Status status = STATUS_NO_RESOURCE;
    long n = 0;
    for (; status; n++) {
        Fault fault = {0};
        memory_fail_after(n);
        status = heights_solve(&input, 1, height, NULL, &fault);
        memory_fail_after(-1);
        if (status) assert_int_equal(status, STATUS_NO_RESOURCE);
        if (status) assert_true(*fault.text);
    }
    assert_true(n > 8);
}

/* ---- the file ---- */

static Status read_list(const char *text, LayerList *list, Fault *fault)
{
    char path[SCRATCH_MOST];
    assert_true(scratch_file(path));
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fputs(text, file);
    fclose(file);
    const Status status = layer_list_read(list, path, 9.6, fault);
    remove(path);
    return status;
}

static void a_file_of_layers(void **state)
{
    (void)state;
    LayerList list;
    Fault fault = {0};
    const char *text = "[layer face]\nindex = 5\nheight = 2\non = body\ntexture = 0.25\n"
                       "[layer body]\nindex = 2\nheight = 40 mm\nprofile = slope\nedge = soft\n"
                       "[layer hands]\nindex=3\nheight=1.5\nprofile=plateau\non=body\n"
                       "[layer sky]\nindex=4\nheight=1\nprofile=rounded\nrise=none\non=ground\n";
    if (read_list(text, &list, &fault)) fail_msg("%s", fault.text);
    assert_int_equal(list.count, 5);
    const Layer *body = &list.layer[1], *hands = &list.layer[2], *sky = &list.layer[3],
                *face = &list.layer[4];
    assert_string_equal(body->name, "body");
    assert_true(body->height == 4 && body->profile == PROFILE_SLOPE && body->soft);
    assert_true(hands->height == 1.5 && hands->rise == 0 && hands->on == 1);
    assert_true(isinf(sky->rise) && sky->on == LAYER_GROUND);
    assert_true(face->profile == PROFILE_ROUNDED && face->texture == 0.25 && face->on == 1);
    assert_int_equal(layer_label(&list, 5), 4);
    assert_int_equal(layer_label(&list, 6), -1);
    assert_true(layer_carries(&list, 1, 4) && !layer_carries(&list, 2, 4));
}

static void files_that_are_wrong_say_where(void **state)
{
    (void)state;
    static const char *const bad[][2] = {
        {"", "holds no layer"},
        {"[layer a]\nindex = 1\nheight = 2\n", ":2: index: '1'"},
        {"[layer a]\nindex = 2\nheight = 121\n", ":3: height"},
        {"[layer a]\nindex = 2\n", "layer a has no height"},
        {"[layer a]\nheight = 2\n", "layer a has no index"},
        {"[layer a]\nindex = 2\nindex = 3\n", ":3: index: line 2"},
        {"[layer a]\nindex=2\nheight=1\n[layer b]\nindex=2\nheight=1\n", "both have index 2"},
        {"[layer a]\nindex=2\nheight=1\non=b\n", "stands on b, which is no layer"},
        {"[layer a]\nindex=2\nheight=1\non=b\n[layer b]\nindex=3\nheight=1\non=a\n",
         "stands on itself"},
        {"[layer a]\nindex=2\nheight=1\non=a\n", "stands on itself"},
        {"[layer ground]\nindex=2\nheight=1\n", "the ground is no layer"},
        {"[layer]\nindex=2\n", "in no section of a layer"},
        {"index=2\n", "in no section of a layer"},
        {"[layer a]\ncolour = red\n", "no such key"},
        {"[layer a]\nprofile = dome\n", ":2: profile: 'dome'"},
        {"[layer a]\nrise = 0\n", ":2: rise"},
        {"[layer a]\ntexture = 2\n", ":2: texture"},
        {"[layer a]\nedge = round\n", ":2: edge"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        LayerList list;
        Fault fault = {0};
        assert_int_equal(read_list(bad[i][0], &list, &fault), STATUS_DATA);
        if (!strstr(fault.text, bad[i][1])) fail_msg("'%s' without '%s'", fault.text, bad[i][1]);
        assert_non_null(strchr(fault.text, ';'));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(strips_are_their_formulas),
        cmocka_unit_test(discs_are_half_ellipsoids),
        cmocka_unit_test(a_ring_is_its_formula),
        cmocka_unit_test(distances_are_the_nearest),
        cmocka_unit_test(forms_of_a_disc),
        cmocka_unit_test(layers_stand_on_layers),
        cmocka_unit_test(what_is_too_high_is_cut_off_and_counted),
        cmocka_unit_test(the_frame_is_no_outline),
        cmocka_unit_test(a_layer_takes_its_relief_from_a_map),
        cmocka_unit_test(texture_follows_light),
        cmocka_unit_test(mirrored_layers_give_mirrored_steps),
        cmocka_unit_test(every_want_of_memory_is_told),
        cmocka_unit_test(a_file_of_layers),
        cmocka_unit_test(files_that_are_wrong_say_where),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
