/* Comparisons from outside, against single plans of the same picture; every allocation
 * failed in turn. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/csv.h"
#include "study/candidate.h"
#include "study/compare.h"
#include "support/command.h"
#include "support/failing.h"
#include "support/plan_measure.h"

#include <math.h>

static double figure(const char *path, size_t row, const char *column)
{
    Csv *csv;
    double value;
    assert_int_equal(csv_read(&csv, path, NULL), 0);
    assert_true(row < csv_rows(csv));
    assert_int_equal(
        csv_number(csv, row, csv_column(csv, column), (CsvRange){-1e9, 1e9}, &value, NULL), 0);
    csv_free(csv);
    return value;
}

static size_t rows_of(const char *path)
{
    Csv *csv;
    assert_int_equal(csv_read(&csv, path, NULL), 0);
    const size_t rows = csv_rows(csv);
    csv_free(csv);
    return rows;
}

/* The reference is blurred as the candidates are: stripes a cell wide are there close by and gone
 * from afar. */
static void the_reference_is_seen_from_the_distance(void **state)
{
    (void)state;
    Image image;
    assert_int_equal(image_init(&image, 32, 32, NULL), 0);
    for (int i = 0; i < 32 * 32; i++)
        for (int k = 0; k < 3; k++) image.xyz[3 * i + k] = i % 2 ? 0.8f : 0.05f;
    for (int far = 0; far < 2; far++) {
        static Job job;
        job_init(&job);
        job.distance = far ? 60000 : 0;
        const Brief brief = brief_of(&job, NULL, NULL);
        Thumb thumb;
        assert_int_equal(thumb_of_view(&thumb, &image, &brief, NULL), 0);
        const int step = abs(thumb.rgb[3 * (16 * 32 + 16) + 1] - thumb.rgb[3 * (16 * 32 + 17) + 1]);
        assert_true(far ? step <= 2 : step > 100);
        memory_free(thumb.rgb);
    }
    image_clear(&image);
}

/* What a comparison says of a variant is what a plan of it says. */
static void figures_are_those_of_plans(void **state)
{
    (void)state;
    assert_int_equal(
        shell("rowlock compare coffee.png --palette 12.csv --palette greys.csv "
              "--columns 40 --dither none --sort given --bricks set.csv --out c && ls c"),
        0);
    assert_non_null(strstr(command_said, "compare.csv\ncompare.pdf\ncompare.png\n"));
    const char *const palette[] = {"12.csv", "greys.csv"};
    for (size_t i = 0; i < 2; i++) {
        assert_int_equal(shell("rowlock plan coffee.png --palette %s --columns 40 --dither none "
                               "--bricks set.csv --book no --quote no --out p",
                               palette[i]),
                         0);
        const char *csv = in_room("c/compare.csv"), *json = in_room("p/plan.json");
        assert_true(figure(csv, i, "bricks") == plan_measure(json, "bricks"));
        assert_true(fabs(figure(csv, i, "perceived_de00") - plan_measure(json, "perceived_de00")) <
                    1e-4);
        assert_true(fabs(figure(csv, i, "price") - plan_measure(json, "price")) < 1e-3);
        assert_true(fabs(figure(csv, i, "mass_kg") - plan_measure(json, "mass_kg")) < 1e-3);
        assert_true(fabs(figure(csv, i, "hours") - plan_measure(json, "hours")) < 1e-2);
    }
}

static void every_combination_is_shown_in_order(void **state)
{
    (void)state;
    assert_int_equal(shell("rowlock compare coffee.png --palette 12.csv --palette greys.csv "
                           "--dither none --dither floyd-steinberg --columns 20 --columns 32 "
                           "--sort look --out d"),
                     0);
    char csv[PATH_MAX];
    strcpy(csv, in_room("d/compare.csv"));
    assert_int_equal(rows_of(csv), 8);
    for (size_t i = 1; i < 8; i++)
        assert_true(figure(csv, i - 1, "perceived_de00") <= figure(csv, i, "perceived_de00"));
    static const char *const by[][2] = {
        {"bricks", "bricks"}, {"colours", "colours"}, {"mass", "mass_kg"}, {"hours", "hours"}};
    for (size_t k = 0; k < sizeof by / sizeof *by; k++) {
        assert_int_equal(shell("rowlock compare coffee.png --palette 12.csv --palette greys.csv "
                               "--dither none --columns 20 --columns 32 --sort %s --out d",
                               by[k][0]),
                         0);
        assert_int_equal(rows_of(csv), 4);
        for (size_t i = 1; i < 4; i++)
            assert_true(figure(csv, i - 1, by[k][1]) <= figure(csv, i, by[k][1]));
    }
    assert_int_equal(shell("qpdf --check d/compare.pdf > /dev/null && qpdf --show-npages "
                           "d/compare.pdf && pdftotext d/compare.pdf - | grep -c '× '"),
                     0);
    assert_non_null(strstr(command_said, "1\n"));
}

/* However long they are, names of palettes and of the client are whole on both papers, and the
 * offer is a page. */
static void names_are_never_cut(void **state)
{
    (void)state;
    static const char name[] = "the colours that the meter wrote on the second day of measuring, "
                               "under the north light, in the order of their shelves in the hall";
    static const char client[] = "Donaudampfschifffahrtsgesellschaftshauptgebaeudeverwaltung and "
                                 "the Company of Painters, Stainers and Bricklayers of the Harbour";
    assert_int_equal(shell("cp 12.csv '%s.csv' && rowlock compare coffee.png --palette '%s.csv' "
                           "--palette greys.csv --columns 12 --dither none --client '%s' "
                           "--title '%s' --out long && qpdf --show-npages long/options.pdf",
                           name, name, client, client),
                     0);
    assert_non_null(strstr(command_said, "1\n"));
    for (int i = 0; i < 2; i++) {
        assert_int_equal(shell("pdftotext -raw long/%s - | tr -d ' \\n' > text && "
                               "grep -o thecoloursthatthemeterwroteontheseconddayofmeasuring text",
                               i ? "options.pdf" : "compare.pdf"),
                         0);
        char *text = slurp(in_room("text"), NULL);
        assert_null(strstr(text, "…"));
        free(text);
    }
    assert_int_equal(
        shell("pdftotext -raw long/options.pdf - | tr -d ' \\n' | grep -o "
              "DonaudampfschifffahrtsgesellschaftshauptgebaeudeverwaltungandtheCompany"),
        0);
}

/* A shelf may have colours that only some of the palettes have: what each is planned with is
 * its own part of the shelf, as a plan with that part alone tells. */
static void a_shelf_of_several_palettes(void **state)
{
    (void)state;
    assert_int_equal(shell("ids() { tail -n +2 $1 | cut -d, -f1; }; "
                           "echo colour,size,quantity > all.csv; cp all.csv part.csv; "
                           "for i in $(ids greys.csv); do echo $i,2x2,30 >> part.csv; done; "
                           "tail -n +2 part.csv >> all.csv; "
                           "for i in Q1 Q2; do echo $i,1x4,99 >> all.csv; done; "
                           "for i in $(ids 12.csv); do grep -q ^$i, all.csv || "
                           "echo $i,1x1,7 >> all.csv; done"),
                     0);
    assert_int_equal(shell("rowlock compare coffee.png --palette 12.csv --palette greys.csv "
                           "--dither none --dither blue-noise --columns 40 --sort given "
                           "--stock all.csv --out several"),
                     0);
    int notes = 0;
    for (const char *at = command_said; (at = strstr(at, "is not in the palette; left out")); at++)
        notes++;
    assert_int_equal(notes, 2); /* one for each palette */
    assert_int_equal(shell("rowlock plan coffee.png --palette greys.csv --columns 40 --dither none "
                           "--stock part.csv --book no --quote no --out part"),
                     0);
    assert_true(figure(in_room("several/compare.csv"), 2, "bricks") ==
                plan_measure(in_room("part/plan.json"), "bricks"));
    assert_int_equal(shell("rowlock plan coffee.png --palette greys.csv --columns 40 "
                           "--stock all.csv --out no"),
                     65);
    assert_non_null(strstr(command_said, "has no colour"));
}

static void the_same_bytes_for_any_threads(void **state)
{
    (void)state;
    for (int threads = 1; threads <= 5; threads += 2)
        assert_int_equal(shell("rowlock compare coffee.png --palette 12.csv --palette greys.csv "
                               "--palette 24.cgats --columns 40 --threads %d --out t%d",
                               threads, threads),
                         0);
    assert_int_equal(shell("diff -r t1 t3 && diff -r t1 t5"), 0);
}

static void misuse_is_said_and_changes_nothing(void **state)
{
    (void)state;
    assert_int_equal(shell("cp -r c kept"), 0);
    assert_int_equal(shell("rowlock compare coffee.png --palette 12.csv --out c"), 64);
    assert_int_equal(shell("rowlock compare coffee.png --palette 12.csv --columns 20"), 64);
    assert_int_equal(shell("rowlock compare coffee.png --cells x.png --columns 9 --out c"), 64);
    assert_int_equal(shell("rowlock compare coffee.png --colours 9 --columns 9 --out c"), 64);
    assert_int_equal(shell("rowlock plan coffee.png --sort look --columns 9 --out c"), 64);
    assert_int_equal(shell("rowlock compare coffee.png --palette none.csv --columns 20 --out c"),
                     66);
    assert_int_equal(shell("rowlock compare coffee.png --palette 12.csv --palette coffee.png "
                           "--columns 20 --out c"),
                     65);
    assert_int_equal(shell("rowlock compare - --columns 20 --columns 30 --out c < coffee.png"), 64);
    assert_non_null(strstr(command_said, "standard input"));
    assert_int_equal(shell("rowlock compare - --columns 20 --dither none --dither blue-noise "
                           "--out in < coffee.png"),
                     0);
    assert_int_equal(shell("diff -r c kept"), 0);
}

static void each_place_that_allocates_fails(void **state)
{
    (void)state;
    Job job;
    job_init(&job);
    assert_int_equal(job_set(&job, setting_find("reference"), in_room("tiny.ppm"), "", NULL, NULL),
                     0);
    assert_int_equal(job_set(&job, setting_find("out"), in_room("a"), "", NULL, NULL), 0);
    assert_int_equal(job_set(&job, setting_find("columns"), "6", "", NULL, NULL), 0);
    job.threads = 1;
    const Choices choices = {setting_find("dither"), 2, {"none", "floyd-steinberg"}};
    for (Failing failing = {0}; failing_next(&failing);) {
        Fault fault = {0};
        const Status status = compare_run(&job, &choices, 1, NULL, &fault);
        if (!failing_ended(&failing)) assert_int_equal(status, 0);
        if (status && !*fault.text) fail_msg("run %zu: no message", failing.run);
        if (status) assert_int_not_equal(access(in_room("a"), F_OK), 0);
        if (!status) assert_int_equal(shell("rm -r a"), 0);
    }
}

static int setup(void **state)
{
    char here[PATH_MAX];
    if (command_setup(state) || !getcwd(here, sizeof here)) return -1;
    if (speckle(in_room("tiny.ppm"), 12, 8)) return -1;
    return shell(
        "cp '%s/tests/data/pictures/coffee.png' . && cp '%s/palettes/bricks-12.csv' 12.csv && "
        "cp '%s/palettes/greys-8.csv' greys.csv && cp '%s/palettes/bricks-24.cgats' "
        "24.cgats && printf 'size,mass_g,price\\n1x1,1,0.1\\n1x2,2,0.15\\n2x4,6,0.4\\n' > "
        "set.csv",
        here, here, here, here);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_reference_is_seen_from_the_distance),
        cmocka_unit_test(figures_are_those_of_plans),
        cmocka_unit_test(every_combination_is_shown_in_order),
        cmocka_unit_test(names_are_never_cut),
        cmocka_unit_test(a_shelf_of_several_palettes),
        cmocka_unit_test(the_same_bytes_for_any_threads),
        cmocka_unit_test(misuse_is_said_and_changes_nothing),
        cmocka_unit_test(each_place_that_allocates_fails),
    };
    return cmocka_run_group_tests(tests, setup, command_teardown);
}
