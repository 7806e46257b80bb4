/* What is told of holding a wall's panel, of uses made by hand: ways within a third of what joints
 * hold, least first, and those beyond it; and headers of bricks that were laid by hand. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "figures/hold_report.h"
#include "figures/measure.h"
#include "support/mural_fixture.h"

static Fixture fixture;

/* A wall of one panel, two thick. */
static void start(void)
{
    fixture_init(&fixture, &(FixtureAsk){.columns = 8,
                                         .rows = 4,
                                         .panel_columns = 8,
                                         .panel_rows = 4,
                                         .colours = 2,
                                         .build = BUILD_WALL,
                                         .base = 2});
    fixture.job.hold_safety = 3;
}

static void put_use(LoadCase load_case, double use)
{
    fixture.holds.panel[0].at[load_case] = (CaseHold){.proof = PROOF_SPRINGS, .use = use};
}

static void put_uses(double flat, double lifted, double quarters, double hung, double courses,
                     double tipped)
{
    put_use(CASE_CARRIED, flat);
    put_use(CASE_LIFTED, lifted);
    put_use(CASE_QUARTERS, quarters);
    put_use(CASE_HUNG, hung);
    put_use(CASE_COURSES, courses);
    put_use(CASE_TIPPED, tipped);
}

static void say(void (*text_of)(const Mural *, int, char *, size_t), const char *expected)
{
    char text[400];
    text_of(&fixture.mural, 0, text, sizeof text);
    assert_string_equal(text, expected);
}

/* asin(1/3 / 2) is 9.59 degrees. */
static void the_way_that_asks_least_comes_first(void **state)
{
    (void)state;
    start();
    put_uses(0.3, 0.021, 0.6, 0.34, 1.5, 2);
    say(hold_carry_text,
        "lifted at both ends of its lowest course (2.1 % of what its joints hold); flat, bearers "
        "under the ends of its courses (30 %)");
    say(hold_never_text,
        "hung by its top course (34 % of what its joints hold); hung by four bricks at its quarter "
        "points (60 %); flat, bearers under its first and last course (over 100 %); tipped at its "
        "foot by more than 9°");
    say(hold_label_text, "Lift it at both ends of its lowest course; tip 9° at most.");
    put_uses(0.4, 0.5, 0.6, 0.7, 1.5, 2);
    say(hold_carry_text, "on a board under all of it: no other hold asks its joints for 34 % or "
                         "less");
    say(hold_label_text, "Carry it on a board; tip 9° at most.");
    put_uses(0.1, 0.2, 0.2, 0.2, 0.2, 0.3);
    say(hold_never_text, "");
    say(hold_label_text, "Carry it flat, its courses' ends on bearers.");
    fixture_clear(&fixture);
}

static void lay_by_hand(const Brick *brick, size_t count)
{
    fixture.laid.count = 0;
    for (size_t i = 0; i < count; i++)
        assert_int_equal(laid_add(&fixture.laid, &brick[i], NULL), STATUS_OK);
    measure_panels(&fixture.mural, fixture.load);
}

/* A stretcher two deep reaches through the wall, two of one deep do not; a brick set across it
 * does. */
static void headers_are_counted(void **state)
{
    (void)state;
    static const Brick brick[] = {
        {.row = 0, .columns = 8, .rows = 1, .tiers = 2},
        {.row = 1, .columns = 8, .rows = 1, .tiers = 1},
        {.row = 1, .tier = 1, .columns = 8, .rows = 1, .tiers = 1},
        {.row = 2, .columns = 1, .rows = 1, .tiers = 2},
        {.row = 2, .column = 1, .columns = 7, .rows = 1, .tiers = 1},
        {.row = 2, .column = 1, .tier = 1, .columns = 6, .rows = 1, .tiers = 1},
        {.row = 2, .column = 7, .tier = 1, .columns = 1, .rows = 1, .tiers = 2},
    };
    start();
    lay_by_hand(brick, sizeof brick / sizeof *brick);
    assert_int_equal(fixture.load[0].headers, 3);
    assert_int_equal(fixture.load[0].bare_courses, 2);
    say(hold_thickness_text, "2 units, 16.0 mm; 3 headers lie across it, 2 of 4 courses have none");
    lay_by_hand(brick, 1);
    fixture.load[0].bare_courses = 0;
    say(hold_thickness_text, "2 units, 16.0 mm; 1 header lies across it, every course has one");
    fixture.mural.solid.build = BUILD_PLAQUE;
    say(hold_thickness_text, "");
    fixture_clear(&fixture);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_way_that_asks_least_comes_first),
        cmocka_unit_test(headers_are_counted),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
