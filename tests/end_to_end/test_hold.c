/* --hold: a relief of single cells whose bricks come off at a touch, planned so that they hold; its
 * price is in the plan, and the plan's promises hold. And loads that no panel can bear. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "support/command.h"

#define RELIEF "--columns 24 --relief luminance --steps 5 --relief-smooth 1 --book no --quote no"

/* A number of a part of a plan. */
static double measure_of(const char *plan, const char *part, const char *name)
{
    char path[128], quoted[64], opened[64];
    snprintf(path, sizeof path, "%s/plan.json", plan);
    snprintf(quoted, sizeof quoted, "\"%s\": ", name);
    snprintf(opened, sizeof opened, "\"%s\": {", part);
    char *text = slurp(in_room(path), NULL);
    assert_non_null(text);
    const char *measures = strstr(text, opened);
    const char *at = measures ? strstr(measures, quoted) : NULL;
    if (!at) fail_msg("%s: no %s", plan, name);
    const double value = strtod(at + strlen(quoted), NULL);
    free(text);
    return value;
}

static double measure(const char *plan, const char *name)
{
    return measure_of(plan, "measures", name);
}

static void slight_bricks_are_mended(void **state)
{
    (void)state;
    assert_int_equal(shell("rowlock plan ref.ppm " RELIEF " --out loose"), 0);
    assert_int_equal(shell("rowlock plan ref.ppm " RELIEF " --hold 1 --out firm"), 0);
    assert_non_null(strstr(command_said, "hold: "));
    assert_true(measure("loose", "held_slightly") > 0);
    assert_true(measure("loose", "least_hold_n") < 1);
    assert_true(measure("firm", "held_slightly") == 0);
    assert_true(measure("firm", "least_hold_n") >= 1);
    assert_int_equal(shell("rowlock check loose && rowlock check firm"), 0);
}

/* A number of a plan that is off by so much is told. */
static void is_told(const char *name, double times)
{
    char command[400];
    snprintf(command, sizeof command,
             "rm -rf wrong && cp -r right wrong && awk '/\"%s\"/ { sub(/: [0-9.e-]+/, "
             "sprintf(\": %%.9f\", %g * $2)) } { print }' right/plan.json >wrong/plan.json",
             name, times);
    assert_int_equal(shell("%s", command), 0);
    assert_int_equal(shell("rowlock check wrong"), 1);
    if (!strstr(command_said, "by the bricks")) fail_msg("%s: %s", name, command_said);
}

/* Forces are reckoned anew from the bricks, by another way than they were: a share, and a hold,
 * that are off by little are told, of a wall's in each way that it is borne. */
static void wrong_forces_are_told(void **state)
{
    (void)state;
    static const char *const plaque[] = {"use_hanging", "use_side", "use_face_down", "use_crate",
                                         "hold_n"};
    static const char *const wall[] = {"use_hanging", "use_flat",   "use_lifted", "use_crate",
                                       "use_courses", "use_tipped", "use_hung",   "use_quarters"};
    assert_int_equal(shell("rowlock plan ref.ppm " RELIEF " --out right && rowlock check right"),
                     0);
    for (size_t i = 0; i < sizeof plaque / sizeof *plaque; i++) is_told(plaque[i], 0.99);
    assert_int_equal(shell("rowlock plan ref.ppm --columns 16 --book no --quote no --build wall "
                           "--thickness 2 --out right && rowlock check right"),
                     0);
    assert_null(strstr(command_said, "reckoned anew"));
    for (size_t i = 0; i < sizeof wall / sizeof *wall; i++) is_told(wall[i], 1.05);
}

/* Where the clutch holds next to nothing the panel comes apart: the plan is written, exits 1, and
 * is told by the check. */
static void what_comes_apart_exits_1(void **state)
{
    (void)state;
    assert_int_equal(shell("rowlock plan ref.ppm " RELIEF " --clutch 0.02,0.02 --out apart"), 1);
    assert_true(measure("apart", "use_most") > 1);
    assert_true(measure("apart", "coming_apart") > 0);
    assert_int_equal(shell("rowlock check apart"), 1);
    assert_int_equal(shell("rowlock plan ref.ppm " RELIEF " --clutch 3 --out bad"), 64);
    assert_int_equal(shell("rowlock plan ref.ppm " RELIEF " --load-cases hung --out bad"), 64);
}

/* The thickness that is found is that of the plan, which says how it was found, and is what the
 * plan would be with that thickness given; the plan is checked and planned again from its files. */
static void the_least_thickness_is_found(void **state)
{
    (void)state;
#define WALL RELIEF " --build wall --steps 2 "
    assert_int_equal(
        shell("rowlock plan ref.ppm " WALL "--hold-safety 1 --thickness auto --out sought"), 0);
    assert_non_null(strstr(command_said, "thickness: "));
    const int found = (int)measure_of("sought", "thickness", "found");
    assert_true(found >= 1 && measure("sought", "use_most") <= 1);
    char command[320];
    snprintf(command, sizeof command,
             "rowlock plan ref.ppm " WALL "--hold-safety 1 --thickness %d --out given && "
             "cmp sought/bricks.csv given/bricks.csv && cmp sought/panels.csv given/panels.csv",
             found);
    assert_int_equal(shell("%s", command), 0);
    if (found > 1) {
        snprintf(command, sizeof command,
                 "rowlock plan ref.ppm " WALL "--thickness %d --out thinner", found - 1);
        shell("%s", command);
        assert_true(measure("thinner", "use_most") > 1);
    }
    assert_int_equal(shell("rowlock check sought"), 0);
    assert_int_equal(shell("rowlock replan sought --built 1-4 --out again"), 0);
    assert_int_equal(shell("rowlock compare ref.ppm " WALL "--thickness auto --out sheet"), 64);
}

static int setup(void **state)
{
    if (command_setup(state)) return -1;
    return speckle(in_room("ref.ppm"), 24, 16);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(slight_bricks_are_mended),
        cmocka_unit_test(wrong_forces_are_told),
        cmocka_unit_test(what_comes_apart_exits_1),
        cmocka_unit_test(the_least_thickness_is_found),
    };
    return cmocka_run_group_tests(tests, setup, command_teardown);
}
