/* Picking against exhaustive search on both test pictures, and from outside. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/csv.h"
#include "base/memory.h"
#include "picture/picture.h"
#include "picture/sample.h"
#include "study/histogram.h"
#include "study/pair_mixtures.h"
#include "study/pick.h"
#include "support/command.h"

#include <math.h>

static Palette palette;

static void look(const char *path, int columns, int rows, Image *image)
{
    PictureOptions options = PICTURE_OPTIONS_DEFAULT;
    Picture *picture;
    assert_int_equal(picture_open(&picture, path, &options, NULL, NULL), 0);
    Source *source = picture_source(picture);
    const Crop crop = crop_all(source);
    assert_int_equal(sample_image(source, &(Sampling){crop, columns, rows, 2}, image, NULL, NULL),
                     0);
    picture_close(picture);
}

/* Least total over every set of `colours`, by its definition. */
static double exhaustive(const MixtureCosts *k, const double *weight, int colours, int *best)
{
    double least = INFINITY;
    int set[4];
    for (int i = 0; i < colours; i++) set[i] = i;
    for (;;) {
        double total = 0;
        const float *row[4 + 6];
        int rows = 0;
        for (int i = 0; i < colours; i++) row[rows++] = k->cost + set[i] * k->samples;
        for (int b = 0; b < k->blends; b++) {
            int both = 0;
            for (int i = 0; i < colours; i++)
                both += k->blend[b].one == set[i] || k->blend[b].two == set[i];
            if (both == 2) row[rows++] = k->blend[b].cost;
        }
        for (int s = 0; s < k->samples && total < least; s++) {
            float cost = row[0][s];
            for (int i = 1; i < rows; i++) cost = row[i][s] < cost ? row[i][s] : cost;
            total += weight[s] * (double)cost;
        }
        if (total < least) {
            least = total;
            memcpy(best, set, sizeof set);
        }
        int i = colours - 1;
        while (i >= 0 && set[i] == k->colours - colours + i) i--;
        if (i < 0) return least;
        set[i]++;
        for (int j = i + 1; j < colours; j++) set[j] = set[j - 1] + 1;
    }
}

/* The 24 of palettes/ on 96 columns: as the command sees the pictures, but without it. */
static void as_exhaustive_search_up_to_four(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        int rows;
    } pictures[] = {{"coffee", 64}, {"astronaut", 96}};
    for (size_t p = 0; p < 2; p++) {
        char path[64];
        Image image;
        Histogram histogram;
        MixtureCosts costs;
        snprintf(path, sizeof path, "tests/data/pictures/%s.png", pictures[p].name);
        look(path, PICK_COLUMNS, pictures[p].rows, &image);
        assert_int_equal(histogram_init(&histogram, &image, 1, PICK_SAMPLES, NULL), 0);
        assert_int_equal(
            mixture_costs_init(&costs, &palette, histogram.lab, histogram.samples,
                               &(MixtureOptions){.visible = pick_visible(8, 8, 5000), .threads = 2},
                               NULL),
            0);
        for (int k = 1; k <= 4; k++) {
            int best[4];
            const double least = exhaustive(&costs, histogram.weight, k, best);
            assert_int_equal(shell("rowlock pick %s.png --palette 24.cgats --colours %d --quiet "
                                   "--out k.cgats",
                                   pictures[p].name, k),
                             0);
            Palette picked;
            assert_int_equal(palette_read(&picked, in_room("k.cgats"), NULL, NULL), 0);
            assert_int_equal(picked.count, k);
            for (int i = 0; i < k; i++)
                assert_string_equal(picked.colour[i].id, palette.colour[best[i]].id);
            Csv *csv;
            double said;
            assert_int_equal(csv_read(&csv, in_room("k-curve.csv"), NULL), 0);
            assert_int_equal(csv_number(csv, (size_t)k - 1, 1, (CsvRange){0, 100}, &said, NULL), 0);
            assert_true(fabs(said - least) < 1e-4);
            csv_free(csv);
        }
        mixture_costs_clear(&costs);
        histogram_clear(&histogram);
        image_clear(&image);
    }
}

/* Methods C2, worked check: columns of two colours, 10 mm each, keep 0.867 of their
 * luminance contrast at 5 m and 0.550 at 10 m. A chessboard's wave is sqrt(2) finer, so
 * cells sqrt(2) larger keep the same. */
static void contrast_kept_is_the_eyes(void **state)
{
    (void)state;
    const double side = 10 * sqrt(2.0);
    assert_true(fabs(pick_visible(side, side, 5000) - 0.867) < 2e-3);
    assert_true(fabs(pick_visible(side, side, 10000) - 0.550) < 2e-3);
    assert_true(pick_visible(8, 8, 0) == 1);
}

static void histograms_keep_weight_and_mean(void **state)
{
    (void)state;
    Image image[2];
    Histogram h;
    look("tests/data/pictures/coffee.png", 60, 40, &image[0]);
    look("tests/data/pictures/astronaut.png", 30, 30, &image[1]);
    double mean[3] = {0}, kept[3] = {0}, weight = 0;
    for (int i = 0; i < 2; i++) {
        const int cells = image[i].columns * image[i].rows;
        for (int c = 0; c < 3 * cells; c++) mean[c % 3] += (double)image[i].xyz[c] / (2 * cells);
    }
    assert_int_equal(histogram_init(&h, image, 2, 100, NULL), 0);
    assert_in_range(h.samples, 30, 100);
    for (int i = 0; i < h.samples; i++) {
        const Xyz xyz = xyz_from_lab(h.lab[i]);
        weight += h.weight[i];
        kept[0] += h.weight[i] * xyz.x;
        kept[1] += h.weight[i] * xyz.y;
        kept[2] += h.weight[i] * xyz.z;
    }
    assert_true(fabs(weight - 1) < 1e-9);
    for (int i = 0; i < 3; i++) assert_true(fabs(kept[i] - mean[i]) < 1e-6);
    histogram_clear(&h);
    image_clear(&image[0]);
    image_clear(&image[1]);
}

static void rules_prices_and_several_pictures(void **state)
{
    (void)state;
    const char *const ids[] = {palette.colour[0].id, palette.colour[5].id, palette.colour[9].id};
    assert_int_equal(shell("rowlock pick coffee.png astronaut.png --palette 24.cgats --colours 6 "
                           "--keep %s,%s --without %s --out sub.cgats",
                           ids[0], ids[1], ids[2]),
                     0);
    Palette picked;
    assert_int_equal(palette_read(&picked, in_room("sub.cgats"), NULL, NULL), 0);
    assert_int_equal(picked.count, 6);
    assert_true(palette_find(&picked, ids[0]) >= 0);
    assert_true(palette_find(&picked, ids[1]) >= 0);
    assert_true(palette_find(&picked, ids[2]) < 0);
    /* A colour that is picked for nothing is left out once it is dear. */
    assert_int_equal(shell("rowlock pick coffee.png --palette 24.cgats --colours 5 --out a.cgats"),
                     0);
    assert_int_equal(palette_read(&picked, in_room("a.cgats"), NULL, NULL), 0);
    char dear[20];
    snprintf(dear, sizeof dear, "%s", picked.colour[4].id);
    FILE *file = fopen(in_room("stock.csv"), "w");
    fprintf(file, "colour,size,quantity,price\n");
    for (int c = 0; c < palette.count; c++)
        fprintf(file, "%s,1x1,0,%s\n", palette.colour[c].id,
                strcmp(palette.colour[c].id, dear) ? "0.1" : "9");
    fclose(file);
    assert_int_equal(shell("rowlock pick coffee.png --palette 24.cgats --colours 5 --stock "
                           "stock.csv --price-weight 10 --out b.cgats"),
                     0);
    assert_int_equal(palette_read(&picked, in_room("b.cgats"), NULL, NULL), 0);
    assert_true(palette_find(&picked, dear) < 0);
}

/* The curve never rises. */
static void the_curve_falls(void **state)
{
    (void)state;
    assert_int_equal(
        shell("rowlock pick astronaut.png --palette 96.csv --colours 8 --out f.x.cgats "
              "&& ls f.x.cgats f.x-curve.csv f.x-curve.png"),
        0);
    /* The gain of one more colour is the curve's next step. */
    const char *note = strstr(command_said, "note: one more: 8 colours come to a difference of ");
    const char *gain = note ? strstr(note, " as well it would be less by ") : NULL;
    assert_non_null(gain);
    const double less = strtod(gain + strlen(" as well it would be less by "), NULL);
    Csv *csv;
    double before = INFINITY, at[2];
    assert_int_equal(csv_read(&csv, in_room("f.x-curve.csv"), NULL), 0);
    assert_int_equal(csv_rows(csv), 13);
    for (size_t i = 0; i < csv_rows(csv); i++) {
        double value;
        assert_int_equal(csv_number(csv, i, 1, (CsvRange){0, 100}, &value, NULL), 0);
        assert_true(value <= before);
        before = value;
        if (i == 7 || i == 8) at[i - 7] = value;
    }
    assert_true(fabs(at[0] - at[1] - less) < 0.0051);
    csv_free(csv);
}

static void links_and_pipes_are_followed(void **state)
{
    (void)state;
    assert_int_equal(
        shell("mkdir -p far && echo old > far/real.cgats && "
              "ln -s far/real.cgats near.cgats && ln -s nowhere lost.cgats && "
              "rowlock pick coffee.png --palette 24.cgats --colours 3 --out near.cgats "
              "&& test -L near.cgats && test -f near-curve.csv && "
              "grep -q '^CGATS' far/real.cgats"),
        0);
    assert_int_equal(shell("rowlock pick coffee.png --palette 24.cgats --colours 3 --out - --quiet "
                           "> piped.cgats && cmp piped.cgats far/real.cgats && ! test -e ./-"),
                     0);
    assert_int_equal(shell("rowlock pick coffee.png --palette 24.cgats --colours 3 --out - "
                           "> /dev/full"),
                     74);
    assert_int_equal(
        shell("rowlock pick coffee.png --palette 24.cgats --colours 3 --out lost.cgats"), 73);
    assert_int_equal(shell("rowlock pick coffee.png --palette 24.cgats --colours 3 --out far"), 73);
    assert_int_equal(shell("ls far nowhere | grep -c 'partial'"), 1);
}

static void misuse_is_said_and_changes_nothing(void **state)
{
    (void)state;
    assert_int_equal(shell("echo mine > m.cgats"), 0);
    assert_int_equal(shell("rowlock pick coffee.png --palette 24.cgats --out m.cgats"), 64);
    assert_int_equal(shell("rowlock pick coffee.png --palette 24.cgats --colours 25 --out m.cgats"),
                     64);
    assert_int_equal(shell("rowlock pick coffee.png --palette 24.cgats --colours 3 --keep ?? "
                           "--out m.cgats"),
                     64);
    assert_non_null(strstr(command_said, "--keep: "));
    assert_int_equal(shell("rowlock pick coffee.png --palette 24.cgats --colours 1 --keep %s,%s "
                           "--out m.cgats",
                           palette.colour[0].id, palette.colour[1].id),
                     64);
    assert_int_equal(shell("rowlock pick coffee.png --palette 24.cgats --colours 3 "
                           "--price-weight 1 --out m.cgats"),
                     64);
    assert_int_equal(shell("rowlock pick coffee.png none.png --palette 24.cgats --colours 3 "
                           "--out m.cgats"),
                     66);
    assert_int_equal(shell("rowlock pick coffee.png --palette 24.cgats --colours 3 "
                           "--out none/m.cgats"),
                     73);
    assert_int_equal(shell("cat m.cgats; ls | grep -c 'm-curve\\|partial'"), 1);
    assert_string_equal(command_said, "mine\n0\n");
}

static void each_allocation_fails_in_turn(void **state)
{
    (void)state;
    Job job;
    job_init(&job);
    const struct {
        const char *name, *value;
    } set[] = {{"palette", in_room("tiny.csv")},
               {"out", in_room("z.cgats")},
               {"columns", "5"},
               {"colours", "2"}};
    for (size_t i = 0; i < sizeof set / sizeof *set; i++)
        assert_int_equal(job_set(&job, setting_find(set[i].name), set[i].value, "", NULL, NULL), 0);
    job.threads = 1;
    char path[PATH_MAX];
    snprintf(path, sizeof path, "%s", in_room("coffee.png"));
    const char *const reference[] = {path};
    for (long n = 0;; n++) {
        Fault fault = {0};
        memory_fail_after(n);
        const Status status = pick_run(&job, reference, 1, NULL, &fault);
        const bool enough = memory_countdown() >= 0;
        memory_fail_after(-1);
        if (enough) {
            assert_int_equal(status, 0);
            break;
        }
        if (status && !*fault.text) fail_msg("allocation %ld: no message", n);
        if (status) assert_int_not_equal(access(in_room("z.cgats"), F_OK), 0);
        if (!status) assert_int_equal(unlink(in_room("z.cgats")), 0);
    }
    assert_int_equal(shell("ls | grep -c partial"), 1);
}

static int setup(void **state)
{
    char here[PATH_MAX];
    if (command_setup(state) || !getcwd(here, sizeof here)) return -1;
    if (palette_read(&palette, "palettes/bricks-24.cgats", NULL, NULL)) return -1;
    return shell(
        "cp '%s'/tests/data/pictures/*.png . && cp '%s/palettes/bricks-24.cgats' 24.cgats && "
        "cp '%s/palettes/bricks-96.csv' 96.csv && printf 'id,name,hex\\na,,#000000\\n"
        "b,,#ffffff\\nc,,#804020\\n' > tiny.csv",
        here, here, here);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(contrast_kept_is_the_eyes),
        cmocka_unit_test(histograms_keep_weight_and_mean),
        cmocka_unit_test(as_exhaustive_search_up_to_four),
        cmocka_unit_test(rules_prices_and_several_pictures),
        cmocka_unit_test(the_curve_falls),
        cmocka_unit_test(links_and_pipes_are_followed),
        cmocka_unit_test(misuse_is_said_and_changes_nothing),
        cmocka_unit_test(each_allocation_fails_in_turn),
    };
    return cmocka_run_group_tests(tests, setup, command_teardown);
}
