/* The quote: figures worked out on paper, sums against parts.csv, the page from outside.
 *
 * Check value of common practice, without a source: about 80,000 bricks are one summer's
 * work of one builder. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "book/quote_page.h"
#include "figures/quote.h"
#include "support/command.h"
#include "support/mural_fixture.h"

#include <jansson.h>
#include <math.h>

/* At the default pace 80,000 bricks take 533 hours; a summer of 13 weeks of 40 hours has
 * 520. */
static void a_summer_is_eighty_thousand_bricks(void **state)
{
    (void)state;
    Job job;
    job_init(&job);
    const double hours = 80000 / job.pace, summer = 13 * 40;
    assert_true(fabs(hours - summer) < 0.05 * summer);
}

static Crate crate(double a, double b, double c) { return (Crate){0, 1, {a, b, c}, 1, 1}; }

/* On paper: a door of 815 leaves 775 between the hands. */
static void crates_pass_gates(void **state)
{
    (void)state;
    const Gate *door = &quote_gates[0], *lift = &quote_gates[3], *pallet = &quote_gates[4];
    assert_int_equal(door->width_mm, 815);
    Crate c = crate(130, 775, 3000);
    assert_int_equal(quote_passing(&c, door), PASSES);
    c = crate(130, 776, 3000);
    assert_int_equal(quote_passing(&c, door), PASSES_ON_EDGE);
    c = crate(130, 2033, 3000);
    assert_int_equal(quote_passing(&c, door), PASSES_NOT);
    c = crate(776, 776, 2033);
    assert_int_equal(quote_passing(&c, door), PASSES_NOT);
    /* A lift's car is 1400 deep: longer crates must stand upright. */
    c = crate(130, 700, 1400);
    assert_int_equal(quote_passing(&c, lift), PASSES);
    c = crate(130, 700, 1401);
    assert_int_equal(quote_passing(&c, lift), PASSES_ON_EDGE);
    c = crate(130, 770, 1401);
    assert_int_equal(quote_passing(&c, lift), PASSES_NOT);
    c = crate(130, 800, 1200);
    assert_int_equal(quote_passing(&c, pallet), PASSES);
    c = crate(130, 801, 1200);
    assert_int_equal(quote_passing(&c, pallet), PASSES_ON_EDGE);
    c = crate(130, 801, 1201);
    assert_int_equal(quote_passing(&c, pallet), PASSES_NOT);
}

static json_t *quote;
static double offered; /* with margin and tax */

static double number(const char *path)
{
    char part[64];
    const json_t *at = quote;
    while (*path) {
        const size_t length = strcspn(path, ".");
        snprintf(part, sizeof part, "%.*s", (int)length, path);
        at = json_object_get(at, part);
        path += length + (path[length] == '.');
    }
    assert_true(json_is_number(at));
    return json_number_value(at);
}

static double sum_of(const char *list, const char *name)
{
    double sum = 0;
    size_t i;
    json_t *value;
    json_array_foreach(json_object_get(json_object_get(quote, "bricks"), list), i, value) sum +=
        json_number_value(json_object_get(value, name));
    return sum;
}

static bool near(double a, double b) { return fabs(a - b) < 1e-6 * (1 + fabs(b)); }

static void figures_follow_from_the_settings(void **state)
{
    (void)state;
    assert_int_equal(
        shell("printf 'size,mass_g,price\\n1x1,1,0.10\\n1x2,2,0.20\\n2x2,4,0.40\\n' > set.csv && "
              "rowlock plan coffee.png --columns 60 --rows 40 --dither none --book no "
              "--bricks set.csv --panel 30x20 --pace 100 --rate 25 --builders 2 --day 5 "
              "--crate-price 30 --freight 100 --site-rate 50 --margin 20 --tax 10 --deposit 40 "
              "--locale de --studio Werkstatt --client 'Kunsthalle am Hafen' --title Kaffee "
              "--sheet-price 7 --packing 5cm --crate-panels 3 --hanging 3 --currency EUR --out o "
              "&& rowlock check o"),
        0);
    quote = json_load_file(in_room("o/quote.json"), 0, NULL);
    assert_non_null(quote);
    /* 2,400 units of 1 g and 0.10 each, however they are laid. */
    assert_true(near(number("mass_kg.expected"), 2.4));
    assert_true(near(number("mass_kg.most"), 2.64));
    /* Four panels of 240 x 160 mm: sheets and boards of 1.4 + 6.12 kg on 0.1536 m2, frames of 0.4
     * kg on 3.2 m, 16 fixings of 0.1 kg. */
    assert_true(near(number("whole_kg.expected"), 2.4 + 0.1536 * 7.52 + 3.2 * 0.4 + 1.6));
    assert_true(near(number("bricks.price.expected"), 240));
    assert_true(near(number("sheets_price"), 28));
    const double bricks = number("bricks.count");
    assert_true(near(sum_of("by_size", "count"), bricks));
    assert_true(near(sum_of("by_colour", "count"), bricks));
    assert_true(near(sum_of("by_colour", "price"), 240));
    assert_true(near(number("hours.expected"), bricks / 100));
    assert_true(near(number("labour.expected"), bricks / 4));
    /* Two crates, two days on site. */
    assert_true(near(number("total.expected"), 240 + 28 + bricks / 4 + 60 + 100 + 100));
    offered = (240 + 28 + bricks / 4 + 60 + 100 + 100) * 1.2 * 1.1;
    assert_true(near(number("building_days.expected"), ceil(bricks / 100 / 10)));
    assert_true(number("hours.least") < number("hours.expected"));
    assert_true(number("hours.most") > number("hours.expected"));
    assert_int_equal(number("site_days"), 2);
    const json_t *outer = json_object_get(json_object_get(quote, "largest_crate"), "outer_mm");
    assert_true(near(json_number_value(json_array_get(outer, 0)), 30 * 8 + 100));
    assert_true(near(json_number_value(json_array_get(outer, 1)), 20 * 8 + 100));
    assert_true(
        near(json_number_value(json_array_get(outer, 2)), 3 * (9.6 + 1.6 + 9 + 20) + 2 * 10 + 100));
    assert_int_equal(number("crates"), 2);
    json_decref(quote);
}

/* Packs and spares only ever add to the price. */
static void the_range_covers_spares_and_packs(void **state)
{
    (void)state;
    assert_int_equal(
        shell("printf 'colour,size,quantity,price,pack\\nN1,1x1,0,0.5,1000\\n' > s.csv && "
              "rowlock plan coffee.png --columns 30 --dither none --book no --spare 10 "
              "--bricks set.csv --stock s.csv --out p"),
        0);
    quote = json_load_file(in_room("p/quote.json"), 0, NULL);
    assert_non_null(quote);
    assert_true(number("bricks.price.least") < number("bricks.price.expected"));
    assert_true(number("bricks.price.most") > number("bricks.price.expected") + 400);
    assert_true(near(number("bricks.outlay"), number("bricks.price.most")));
    json_decref(quote);
}

static void the_page_is_one_and_says_it(void **state)
{
    (void)state;
    assert_int_equal(shell("qpdf --check o/quote.pdf > /dev/null && "
                           "qpdf --show-npages o/quote.pdf"),
                     0);
    assert_string_equal(command_said, "1\n");
    assert_int_equal(shell("pdftotext -layout o/quote.pdf - | tr -s ' \\n' ' '"), 0);
    assert_non_null(strstr(command_said, "480 × 320 mm, 9,6 mm deep"));
    assert_non_null(strstr(command_said, "from memory"));
    assert_non_null(strstr(command_said, "2 crates, up to 3 panels each"));
    assert_non_null(strstr(command_said, ", at most "));
    /* The offer: one page, whole names, its sum as Germany writes it, nothing from memory. */
    char sum[40], expected[80];
    snprintf(sum, sizeof sum, "%.2f", round(offered * 100) / 100);
    sum[strlen(sum) - 3] = '\0';
    snprintf(expected, sizeof expected, "Price %.1s%s%s,", sum, strlen(sum) > 3 ? "." : "",
             strlen(sum) > 3 ? sum + 1 : sum);
    assert_int_equal(shell("qpdf --check o/offer.pdf > /dev/null && qpdf --show-npages o/offer.pdf"
                           " && pdftotext -layout o/offer.pdf - | tr -s ' \\n' ' '"),
                     0);
    assert_memory_equal(command_said, "1\n", 2);
    assert_non_null(strstr(command_said, "Kaffee"));
    assert_non_null(strstr(command_said, "Kunsthalle am Hafen"));
    assert_non_null(strstr(command_said, "Not included: "));
    assert_non_null(strstr(command_said, "With the order, 40 %"));
    if (!strstr(command_said, expected)) fail_msg("no '%s' in %s", expected, command_said);
    assert_null(strstr(command_said, "from memory"));
    assert_null(strstr(command_said, "…"));
    /* Every colour of a large palette, and no price at all, still make one page. */
    assert_int_equal(shell("rowlock plan astronaut.png --columns 200 --dither floyd-steinberg "
                           "--palette 96.csv --book no --paper letter --out l && "
                           "qpdf --show-npages l/quote.pdf"),
                     0);
    assert_non_null(strstr(command_said, "1\n"));
}

/* Every allocation of the library's own fails once; no page stays behind. */
static void each_allocation_may_fail(void **state)
{
    (void)state;
    static Fixture fixture;
    const char *path = in_room("page.pdf");
    fixture_init(&fixture, &(FixtureAsk){6, 4, 3, 4, 3, BUILD_PLAQUE, 1, 0, FACE_BANDS, PAPER_A4});
    fixture.job.builders = fixture.job.hanging = 1;
    fixture.job.day = 8;
    fixture.job.pace = 100;
    for (long n = 0;; n++) {
        Fault fault = {0};
        remove(path);
        memory_fail_after(n);
        const Status status = quote_page_write(&fixture.mural, path, NULL, &fault);
        const bool enough = memory_countdown() >= 0;
        memory_fail_after(-1);
        if (enough) {
            assert_int_equal(status, STATUS_OK);
            break;
        }
        assert_int_equal(status, STATUS_NO_RESOURCE);
        assert_int_equal(access(path, F_OK), -1);
    }
    fixture_clear(&fixture);
}

static int setup(void **state)
{
    char here[PATH_MAX];
    if (command_setup(state) || !getcwd(here, sizeof here)) return -1;
    return shell("cp '%s'/tests/data/pictures/*.png . && cp '%s/palettes/bricks-96.csv' 96.csv",
                 here, here);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_summer_is_eighty_thousand_bricks),
        cmocka_unit_test(crates_pass_gates),
        cmocka_unit_test(figures_follow_from_the_settings),
        cmocka_unit_test(the_range_covers_spares_and_packs),
        cmocka_unit_test(each_allocation_may_fail),
        cmocka_unit_test(the_page_is_one_and_says_it),
    };
    return cmocka_run_group_tests(tests, setup, command_teardown);
}
