#include "base/text.h"
#include "figures/cautions.h"
#include "figures/measure.h"
#include "model/lift.h"
#include "support/mural_fixture.h"

#include <locale.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

static Fixture fixture;
static Cautions found;

static void start(int columns, int rows, Build build)
{
    fixture_init(&fixture, &(FixtureAsk){.columns = columns,
                                         .rows = rows,
                                         .panel_columns = 24,
                                         .panel_rows = 24,
                                         .colours = 5,
                                         .build = build,
                                         .base = 1});
}

static const char *line_of(const char *topic)
{
    measure_panels(&fixture.mural, fixture.load);
    cautions_find(&found, &fixture.mural);
    for (int i = 0; i < found.count; i++)
        if (strncmp(found.text[i], topic, strlen(topic)) == 0) return found.text[i];
    return NULL;
}

static int end(void **state)
{
    (void)state;
    fixture_clear(&fixture);
    return 0;
}

/* The worked values of the revised NIOSH equation, A = 0, FM = 1, computed by hand from
 * RWL = 23 * 25/H * (1 - 0.003 |V - 75|) * (0.82 + 4.5/D) * CM. */
static void lifting_follows_niosh(void **state)
{
    (void)state;
    static const double cases[][5] = {
        {25, 75, 25, 23.00, 20.70}, {30, 75, 25, 19.17, 17.25}, {40, 75, 50, 13.08, 11.77},
        {50, 100, 75, 9.36, 8.42},  {63, 75, 25, 9.13, 8.21},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        for (int poor = 0; poor < 2; poor++) {
            const Lift lift = {cases[i][0], cases[i][1], cases[i][2], 0.0, 1.0, poor ? 0.9 : 1.0};
            assert_true(fabs(lift_limit_kg(&lift) - cases[i][3 + poor]) < 0.0051);
        }
    assert_true(lift_limit_kg(&(Lift){64.0, 75.0, 25.0, 0.0, 1.0, 1.0}) == 0.0);
    assert_true(lift_limit_kg(&(Lift){20.0, 75.0, 10.0, 0.0, 1.0, 1.0}) <= 23.0);
}

/* 15 and 23 kg are the limits of the advice; masses count with their 10 per cent. */
static void advice_grows_with_mass(void **state)
{
    (void)state;
    char text[300];
    lift_advice(2.0, 384.0, text, sizeof text);
    assert_non_null(strstr(text, "one person ("));
    lift_advice(14.0, 100.0, text, sizeof text);
    assert_non_null(strstr(text, "two people ("));
    lift_advice(22.0, 100.0, text, sizeof text);
    assert_non_null(strstr(text, "aid"));
    lift_advice(2.0, 1000.0, text, sizeof text);
    assert_non_null(strstr(text, "two people ("));
    assert_non_null(strstr(text, "carry it upright"));
}

/* Each line names its source, and there is room for all of them at once. */
static void every_line_has_its_source(void **state)
{
    (void)state;
    start(120, 120, BUILD_PLAQUE);
    fixture.sizes.estimated = true;
    fixture.bond.panel[2].pieces = 2;
    fixture.job.pitch = 8.0;
    fixture.mural.cell_width_mm = fixture.mural.cell_height_mm = 40.0;
    for (int i = 0; i < fixture.sizes.count; i++) fixture.sizes.size[i].mass_g *= 100.0;
    line_of("");
    assert_int_equal(found.count, 12);
    for (int i = 0; i < found.count; i++) {
        assert_non_null(strstr(found.text[i], "Source: "));
        assert_int_equal(found.text[i][strlen(found.text[i]) - 1], '.');
    }
}

static void plain_mural_has_few(void **state)
{
    (void)state;
    start(24, 24, BUILD_PLAQUE);
    assert_non_null(line_of("Fire:"));
    assert_non_null(line_of("Light:"));
    assert_non_null(line_of("Fixing:"));
    assert_non_null(line_of("Small parts:"));
    assert_null(line_of("Weight:"));
    assert_null(line_of("Masses:"));
    assert_null(line_of("Holding:"));
    assert_null(line_of("Adhesive:"));
    assert_null(line_of("Glue"));
    assert_null(line_of("Doors:"));
    assert_null(line_of("Height:"));
    assert_null(line_of("Warmth:"));
}

/* Each trigger alone, just short of it and just past it. */
static void triggers_fire(void **state)
{
    (void)state;
    start(48, 24, BUILD_PLAQUE);
    /* A brick of 2x2 at 25 mm has a smallest face of 50 mm and more: too large for the
     * cylinder of 31.7 mm; a 1x1 of 25 x 25 x 9.6 mm fits. */
    for (int i = 0; i < fixture.parts.count; i++) fixture.parts.part[i].count = 0;
    fixture.parts.part[0].count = 1;
    fixture.parts.part[0].size = fixture_size(&fixture.sizes, 2, 2);
    fixture.job.pitch = 25.0;
    fixture.job.brick_height = 25.0;
    assert_null(line_of("Small parts:"));
    fixture.parts.part[0].size = fixture_size(&fixture.sizes, 1, 1);
    fixture.job.brick_height = 9.6;
    assert_non_null(line_of("Small parts:"));
    fixture.sizes.estimated = true;
    assert_non_null(line_of("Masses:"));
    fixture.bond.panel[1].unsupported = 3;
    assert_non_null(strstr(line_of("Holding:"), "rest on nothing: 3"));
    assert_non_null(line_of("Adhesive:"));
    assert_non_null(line_of("Glue stays:"));
    /* The panel's short side is 24 cells: 775 mm is the most for an 815 mm door. */
    fixture.mural.cell_width_mm = fixture.mural.cell_height_mm = 775.0 / 24.0;
    assert_null(line_of("Doors:"));
    fixture.mural.cell_width_mm = fixture.mural.cell_height_mm = 776.0 / 24.0;
    assert_non_null(line_of("Doors:"));
    fixture.mural.cell_height_mm = 1999.0 / 24.0;
    assert_null(line_of("Height:"));
    fixture.mural.cell_height_mm = 2001.0 / 24.0;
    assert_non_null(line_of("Height:"));
}

static void heavy_panel_is_named(void **state)
{
    (void)state;
    start(48, 24, BUILD_WALL);
    const double each = 0.4 * 24 * 24; /* grams of either panel, as the fixture lays it */
    for (int i = 0; i < fixture.sizes.count; i++) fixture.sizes.size[i].mass_g *= 13500.0 / each;
    assert_null(line_of("Weight:"));
    for (int i = 0; i < fixture.sizes.count; i++) fixture.sizes.size[i].mass_g *= 14.0 / 13.5;
    assert_non_null(strstr(line_of("Weight:"), "14.0 kg"));
    assert_null(strstr(line_of("Weight:"), "23 kg"));
    for (int i = 0; i < fixture.sizes.count; i++) fixture.sizes.size[i].mass_g *= 2.0;
    assert_non_null(strstr(line_of("Weight:"), "Over 23 kg"));
}

/* alpha L dT: 2 m over 20 K at 9.4e-5 /K is 3.76 mm. */
static void warmth_is_worked_out(void **state)
{
    (void)state;
    start(48, 24, BUILD_PLAQUE);
    fixture.mural.cell_width_mm = 2000.0 / 48.0;
    assert_non_null(strstr(line_of("Warmth:"), "3.8 mm"));
    fixture_clear(&fixture);
    start(24, 24, BUILD_PLAQUE);
    fixture.mural.cell_width_mm = 2000.0 / 24.0;
    assert_null(line_of("Warmth:")); /* of a single panel */
}

static void numbers_know_no_locale(void **state)
{
    (void)state;
    char text[40];
    setlocale(LC_ALL, "de_DE.UTF-8");
    number_text(text, sizeof text, 1234567.891, 2);
    assert_string_equal(text, "1,234,567.89");
    number_text(text, sizeof text, -0.05, 1);
    assert_string_equal(text, "-0.1");
    number_text(text, sizeof text, 999.96, 1);
    assert_string_equal(text, "1,000.0");
    number_text(text, sizeof text, 0.0, 0);
    assert_string_equal(text, "0");
    setlocale(LC_ALL, "C");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lifting_follows_niosh),
        cmocka_unit_test(advice_grows_with_mass),
        cmocka_unit_test_teardown(every_line_has_its_source, end),
        cmocka_unit_test_teardown(plain_mural_has_few, end),
        cmocka_unit_test_teardown(triggers_fire, end),
        cmocka_unit_test_teardown(heavy_panel_is_named, end),
        cmocka_unit_test_teardown(warmth_is_worked_out, end),
        cmocka_unit_test(numbers_know_no_locale),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
