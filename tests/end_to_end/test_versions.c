/* Versions: what the program tells of itself, files that an earlier version wrote, and files of a
 * version that is not known yet.
 *
 * What libraries are of which version: pkg-config. The kept plan: tests/data/plans. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/file_format.h"
#include "support/command.h"

/* Where tests/data lies, from the test's own folder. */
static char data[PATH_MAX];

static int setup(void **state)
{
    if (!realpath("tests/data", data)) return -1;
    return command_setup(state);
}

/* The first line is for scripts; the libraries are as new as pkg-config has them here. */
static void versions_are_told(void **state)
{
    (void)state;
    assert_int_equal(shell("rowlock --version | head -n 1 | grep -x 'rowlock [0-9.]*'"), 0);
    assert_int_equal(
        shell("rowlock --version > told; for p in zlib libpng:libpng cairo jansson sqlite3:SQLite "
              "libmicrohttpd libqrencode 'libtiff-4:libtiff' 'libjpeg:libjpeg turbo'; do "
              "v=$(pkg-config --modversion \"${p%%%%:*}\") && grep -F \"${p##*:} $v\" told || "
              "exit 1; done"),
        0);
    for (int i = 0; i < FILE_FORMATS; i++)
        assert_int_equal(
            shell("grep '^formats: .*%s %d' told", file_formats[i].file, file_formats[i].version),
            0);
}

static void a_plan_of_an_earlier_version_is_checked_and_planned_again(void **state)
{
    (void)state;
    assert_int_equal(shell("for p in '%s'/plans/version-*; do rowlock check $p && "
                           "rowlock replan $p '%s/pictures/astronaut.png' --built r1c1 --out again "
                           "--book no && rowlock check again || exit 1; done",
                           data, data),
                     0);
    /* The panel that stands stands as it was, brick for brick. */
    assert_int_equal(shell("grep ^r1c1, '%s/plans/version-1/bricks.csv' > before && "
                           "grep ^r1c1, again/bricks.csv > after && cmp before after",
                           data),
                     0);
}

/* Every version but the last is older than one more than it. */
static void a_newer_version_is_refused_by_name(void **state)
{
    (void)state;
    static const char *const lines[] = {"check new", "replan new --built r1c1 --out o"};
    assert_int_equal(shell("cp -r '%s/plans/version-1' new && "
                           "sed -i 's/\"version\": 1,/\"version\": %d,/' new/plan.json",
                           data, file_formats[FORMAT_PLAN].version + 1),
                     0);
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++) {
        assert_int_equal(shell("rowlock %s", lines[i]), 65);
        assert_non_null(strstr(command_said, "rowlock: new/plan.json: is of version 2 of its "
                                             "format, and this program knows version 1; use "));
    }
    assert_int_equal(shell("mkdir show && printf '{\"format\": \"rowlock-show\", \"version\": 9}' "
                           "> show/show.json; rowlock check show"),
                     65);
    assert_non_null(strstr(command_said, "show/show.json: is of version 9 of its format"));
    assert_int_equal(
        shell("mkdir a.desk && printf '{\"format\":\"rowlock-trail\",\"version\":9}\\n' "
              "> a.desk/trail.jsonl; timeout 20 '%s' desk a.desk --no-open",
              command_program),
        65);
    assert_non_null(strstr(command_said, "trail.jsonl: is of version 9 of its format"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(versions_are_told),
        cmocka_unit_test(a_plan_of_an_earlier_version_is_checked_and_planned_again),
        cmocka_unit_test(a_newer_version_is_refused_by_name),
    };
    return cmocka_run_group_tests(tests, setup, command_teardown);
}
