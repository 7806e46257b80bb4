/* What planning again refuses: misuse, plans that came to harm, plans that were forged so that
 * their digests fit; it is said, and nothing is touched. And every place that allocates fails in
 * turn. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "plan/plan_reader.h"
#include "plan/replan.h"
#include "support/failing.h"
#include "support/replan_room.h"

static void says_and_leaves(int code, const char *arguments, const char *part)
{
    const int got = shell("rowlock replan %s", arguments);
    if (got != code || !strstr(command_said, part))
        fail_msg("%s: %d, %s", arguments, got, command_said);
    if (code == 64)
        assert_ptr_equal(strchr(command_said, '\n'), command_said + strlen(command_said) - 1);
    assert_int_equal(shell("diff -r out out-kept && diff -r base base-kept"), 0);
}

static void make_base(const char *arguments)
{
    const bool cut = strstr(arguments, "--panel") || strstr(arguments, "--kit");
    assert_int_equal(shell("rm -rf base out base-kept out-kept; rowlock plan coffee.png --columns "
                           "30 %s --book no --quote no --out base %s && cp -r base base-kept && "
                           "cp -r base out && cp -r base out-kept",
                           cut ? "" : "--panel 10x10", arguments),
                     0);
}

static void misuse_is_said(void **state)
{
    (void)state;
    static const struct {
        int code;
        const char *arguments, *part;
    } list[] = {
        {64, "--built 1-3 --out out", "no folder"},
        {64, "base --out out", "--built"},
        {64, "base --built 1-3", "--out"},
        {64, "base --built '' --out out", "--built"},
        {64, "base --built ' , ' --out out", "nothing is named"},
        {64, "base --built r9c1 --out out", "give panels, r1c1 to r2c3, or rows, 1-20"},
        {64, "base --built 1-3 --built r1c1 --out out", "in one list"},
        {64, "base --built 1-3,x --out out", "'x' is no panel"},
        {64, "base --built 0-3 --out out", "1-20"},
        {64, "base --built 0 --out out", "1-20"},
        {66, "base --built ./none.csv --out out", "none.csv"},
        {65, "base --built base/panels.csv --out out", "no column 'tier'"},
        {65, "base --built moved.csv --out out", "moved.csv:2:6: base has no such brick there"},
        {64, "base --built 3-21 --out out", "1-20"},
        {64, "base --built 5-3 --out out", "no rows"},
        {64, "base --built -3 --out out", "no panel"},
        {64, "base --built 1- --out out", "no panel"},
        {64, "base --built 99999999999999999999 --out out", "no panel"},
        {64, "base --built 1-3 --columns 30 --out out", "--columns: the mural that stands"},
        {64, "base --built 1-3 --build wall --out out", "--build: the mural that stands"},
        {64, "base --built 1-3 --panel 8x8 --out out", "--panel: the mural that stands"},
        {64, "base --built 1-3 --steps 3 --out out", "--steps: the mural that stands"},
        {64, "base --built 1-3 --job j.ini --out out", "no such option"},
        {64, "base coffee.png more.png --built 1-3 --out out", "one operand too many"},
        {64, "base --built 1-3 --stock-only --out out", "--stock"},
        {66, "none --built 1-3 --out out", "plan.json"},
        {66, "base --built 1-3 --palette none.csv --out out", "none.csv"},
        {66, "base --built 1-3 --stock none.csv --out out", "none.csv"},
        {65, "base --built 1-3 --bricks one.csv --out out", "the set has no"},
    };
    make_base("");
    assert_int_equal(shell("head -n 3 base/bricks.csv | sed '2s/,1,1,1,/,2,1,1,/' > moved.csv"), 0);
    assert_int_equal(shell("printf 'size\\n1x1\\n' > one.csv"), 0);
    for (size_t i = 0; i < sizeof list / sizeof *list; i++)
        says_and_leaves(list[i].code, list[i].arguments, list[i].part);
    make_base("--build wall --thickness 2");
    says_and_leaves(64, "base --built 4-6 --out out", "course 1 of panel r1c1 is not built");
    says_and_leaves(64, "base --built 1-3,5-5 --out out", "course 4 of panel r1c1 is not built");
    make_base("--relief luminance --steps 3");
    says_and_leaves(64, "base --built 1-6 --out out", "in relief and built tier by tier");
}

static void a_harmed_plan_is_refused(void **state)
{
    (void)state;
    static const char *const harm[] = {
        "rm base/plan.json",
        "rm base/bricks.csv",
        "rm base/cells.png",
        "rm base/panels.csv",
        "rm base/steps.png",
        "head -c 300 base-kept/plan.json > base/plan.json",
        "echo '[]' > base/plan.json",
        "echo '{}' > base/plan.json",
        "sed -i 's/\"version\": 1/\"version\": 2/' base/plan.json",
        "sed -i '2d' base/bricks.csv",
        "sed -i 's/1x1/1x2/' base/bricks.csv",
        "cp base/steps.png base/cells.png",
        "sed -i 's/\"columns\": \"30\"/\"columns\": \"31\"/' base/plan.json",
        "sed -i 's/\"columns\": \"30\"/\"columns\": \"x\"/' base/plan.json",
        "sed -i 's/\"columns\": \"30\"/\"wobble\": \"3\"/' base/plan.json",
        "sed -i 's/\"columns\": 30/\"columns\": 29/' base/plan.json",
        "sed -i 's/\"rows\": 20/\"rows\": 2000000/' base/plan.json",
        "sed -i 's/\"colours\"/\"colors\"/' base/plan.json",
        "sed -i 's/\"hex\": \"#/\"hex\": \"/' base/plan.json",
        "sed -i '0,/\"lab\": \\[/s//&500, /' base/plan.json",
        "perl -0pi -e 's/\"lab\": \\[\\s*[0-9.]+/\"lab\": [500/' base/plan.json",
        "perl -0pi -e 's/\"lab\": \\[\\s*[0-9.]+/\"lab\": [null/' base/plan.json",
        "sed -i 's/\"settings\"/\"set\"/' base/plan.json",
        "sed -i 's/\"panel\": \"10x10\"/\"panel\": \"9x9\"/' base/plan.json",
        "sed -i 's/\"build\": \"plaque\",$/\"build\": \"wall\",/' base/plan.json",
    };
    make_base("--relief luminance --steps 3");
    for (size_t i = 0; i < sizeof harm / sizeof *harm; i++) {
        assert_int_equal(shell("rm -rf base && cp -r base-kept base && %s; ! diff -qr base "
                               "base-kept > /dev/null",
                               harm[i]),
                         0);
        const int code = shell("cp -r base harmed; rowlock replan base --built r1c1 --out out "
                               "2> err; code=$?; cat err; diff -r base harmed && rm -rf harmed && "
                               "exit $code");
        if (code != 65 && code != 66) fail_msg("%s: %d, %s", harm[i], code, command_said);
        assert_int_equal(shell("diff -r out out-kept"), 0);
    }
}

/* Bricks that would fill the mural twice or not at all, a hollow core that is larger than
 * plan.json has it, and panels that do not tile the mural, under digests that are made to
 * fit. */
static void a_forged_plan_is_refused(void **state)
{
    (void)state;
    static const struct {
        const char *plan, *file, *forge;
    } list[] = {
        {"", "bricks.csv", "2p"},
        {"", "bricks.csv", "2d"},
        {"--hollow 1", "bricks.csv", "2d"},
        {"", "bricks.csv", "2s/,1\r$/,0\r/"},
        {"", "bricks.csv", "2s/^r1c1/r9c9/"},
        {"", "bricks.csv", "2s/^r1c1/r1c2/"},
        {"", "bricks.csv", "1s/tier,/tear,/"},
        {"", "bricks.csv", "2s/^r1c1,[0-9]*/r1c1,0/"},
        {"", "panels.csv", "3d"},
        {"", "panels.csv", "s/^r2c1,1,/r2c1,2,/"},
#define CORE "--build wall --thickness 6 --hollow 1 --panel-mass 200kg --panel 30x30"
        {CORE, "bricks.csv", "2d"},
        {CORE, "bricks.csv", "9p"},
        {CORE, "plan.json", "s/\"units\": /&1/"},
        {CORE, "plan.json", "s/\"units\": /&-/"},
        {CORE, "plan.json", "s/\"units\": [0-9]*/\"units\": null/"},
        {CORE, "plan.json", "s/\"hollow\": \"1\"/\"hollow\": \"0\"/"},
#define EVEN "--kit 10x10 --kit-even"
        {EVEN, "panels.csv", "3d"},
        {EVEN, "panels.csv", "$d"},
        {EVEN, "panels.csv", "2p"},
        {EVEN, "panels.csv", "2,$d"},
        {EVEN, "panels.csv", "2{h;d};3G"},
        {EVEN, "panels.csv",
         "1s/.*/panel,column,row,columns,rows\r/;2s/.*/r1c1,1,1,20,10\r/;"
         "3s/.*/r1c2,21,1,20,10\r/;4s/.*/r1c3,11,11,20,10\r/;5,$d"},
        {EVEN, "panels.csv", "s/^r2c1/r2c9/"},
        {EVEN, "panels.csv", "s/^r1c1,1,1,/r1c1,1,1,1/"},
        {EVEN, "panels.csv", "s/^\\(r1c2,[0-9]*\\),1,/\\1,2,/"},
    };
    for (size_t i = 0; i < sizeof list / sizeof *list; i++) {
        const char *file = list[i].file;
        if (!i || strcmp(list[i].plan, list[i - 1].plan) != 0) make_base(list[i].plan);
        assert_int_equal(
            shell(
                "rm -rf base && cp -r base-kept base && sed -i '%s' base/%s && ! cmp -s base/%s "
                "base-kept/%s && old=$(sha256sum < base-kept/%s | cut -c1-64) && "
                "new=$(sha256sum < base/%s | cut -c1-64) && sed -i s/$old/$new/ base/plan.json && "
                "{ [ %s = plan.json ] || grep -q $new base/plan.json; }",
                list[i].forge, file, file, file, file, file, file),
            0);
        const int code = shell("rowlock replan base --built r1c1 --out out");
        const char *panels = strcmp(file, "panels.csv") ? "" : file;
        if (code != 65 || !strstr(command_said, panels) || strstr(command_said, "not the file"))
            fail_msg("%s, %s: %d, %s", list[i].plan, list[i].forge, code, command_said);
        assert_int_equal(shell("diff -r out out-kept"), 0);
    }
}

/* ---- the library ---- */

static void fill_job(Job *job, const char *built)
{
    assert_int_equal(plan_reader_settings(job, "tiny", NULL), 0);
    strcpy(job->built, built);
    strcpy(job->out, "tiny-2");
    strcpy(job->palette, "greys.csv");
    job->threads = 1; /* test_plan fails what more of them need */
}

static void each_place_that_allocates_fails(void **state)
{
    (void)state;
    static const struct {
        const char *plan, *built, *said;
    } list[] = {
        {"--columns 9 --panel 5x5", "1-3,r1c2", ""},
        {"--columns 9 --build wall --thickness 2 --panel 5x5", "1-3,r1c2", ""},
        {"--columns 16 --palette greys.csv --build wall --thickness 4 --hollow 1 --dither none",
         "1-4", "are left out"},
        {"--columns 11 --kit 3x3 --kit-even", "1-2,r1c2", "one size would"}};
    for (size_t i = 0; i < sizeof list / sizeof *list; i++) {
        assert_int_equal(
            shell("rm -rf tiny; rowlock plan tiny.ppm --book no --quote no --out tiny %s; true",
                  list[i].plan),
            0);
        assert_non_null(strstr(command_said, list[i].said));
        assert_int_equal(chdir(command_room), 0);
        Job whole;
        fill_job(&whole, list[i].built);
        for (Failing failing = {0}; failing_next(&failing);) {
            Job job = whole;
            Fault fault = {0};
            const Status status = replan_run(&job, "tiny", NULL, &fault);
            const bool failed = failing_ended(&failing);
            if (status > STATUS_UNHELD && (!failed || !*fault.text))
                fail_msg("%s: run %zu: %s", list[i].plan, failing.run, fault.text);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(misuse_is_said),
        cmocka_unit_test(a_harmed_plan_is_refused),
        cmocka_unit_test(a_forged_plan_is_refused),
        cmocka_unit_test(each_place_that_allocates_fails),
    };
    return cmocka_run_group_tests(tests, replan_setup, command_teardown);
}
