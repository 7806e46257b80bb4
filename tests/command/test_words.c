/* The words of the command line: what is asked for in short, slips and their mends, and what is
 * told on a terminal.
 *
 * Exit codes: sysexits(3). Escape, ESC, opens every control sequence: ECMA-48, 5.4. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "support/command.h"

#include <fcntl.h>

static int setup(void **state)
{
    if (command_setup(state)) return -1;
    return speckle(in_room("s.ppm"), 40, 30);
}

static void help_is_the_same_however_it_is_asked_for(void **state)
{
    (void)state;
    assert_int_equal(shell("rowlock --help > long && rowlock -h > short && rowlock help > word && "
                           "cmp long short && cmp long word"),
                     0);
    assert_int_equal(shell("for c in plan check; do "
                           "rowlock $c --help > long && rowlock $c -h > short && "
                           "rowlock help $c > word && cmp long short && cmp long word || exit 1; "
                           "done"),
                     0);
    assert_int_equal(shell("rowlock --version > long && rowlock -V > short && "
                           "rowlock plan -V > word && cmp long short && cmp long word"),
                     0);
}

static void out_is_said_as_each_command_takes_it(void **state)
{
    (void)state;
    assert_int_equal(shell("rowlock pick -h | grep -e '--out FILE  *file to write'"), 0);
    assert_int_equal(shell("rowlock pick -h | grep -e '--out DIR'"), 1);
    assert_int_equal(shell("rowlock plan -h | grep -e '--out DIR  *folder to write the plan'"), 0);
    assert_int_equal(shell("rowlock --manual | grep -e '^pick: .*FILE.*file to'"), 0);
}

static void a_slip_is_answered_by_its_mend(void **state)
{
    (void)state;
    static const struct {
        const char *line, *said;
    } slips[] = {
        {"", "no command is given; see 'rowlock --help'"},
        {"--quiet", "no command is given; see 'rowlock --help'"},
        {"paln", "paln: no such command; did you mean plan?"},
        {"help chekc", "chekc: no such command; did you mean check?"},
        {"hepl", "hepl: no such command; did you mean help?"},
        {"xyzzy", "xyzzy: no such command; see 'rowlock --help'"},
        {"help plan check", "check: one operand too many; see 'rowlock --help'"},
        {"plan s.ppm --widht 1m --out o", "--widht: no such option; did you mean --width?"},
        {"plan s.ppm --widht=1m --out o", "--widht=1m: no such option; did you mean --width?"},
        {"plan s.ppm -width 1m --out o", "-width: no such option; did you mean --width?"},
        {"plan s.ppm -o o", "-o: no such option; see 'rowlock plan --help'"},
        {"desk --prot 80", "--prot: no such option; did you mean --port?"},
        {"plan s.ppm --width 1,6m --out o",
         "--width: '1,6m' has a comma; write 1.6m, with a decimal point"},
        {"plan s.ppm --width '1,600 mm' --out o",
         "--width: '1,600 mm' has a comma; write 1600 mm or 1.600 mm, with a decimal point"},
        {"plan s.ppm --columns 1,000 --out o", "--columns: '1,000' has a comma; write 1000"},
        {"plan s.ppm --columns 9 --panel-mass 2,5kg --out o",
         "--panel-mass: '2,5kg' has a comma; write 2.5kg, with a decimal point"},
        {"plan s.ppm --columns 9 --calm ,5 --out o",
         "--calm: ',5' has a comma; write .5, with a decimal point"},
        {"plan s.ppm --width 1,6,0m --out o",
         "--width: '1,6,0m' is not a length; give a number and mm, cm, m or in"},
        {"plan s.ppm --columns 9 --out -",
         "--out: '-' is standard output, which holds no folder; name a folder, './-' for one of "
         "that name"},
        {"compare s.ppm --columns 9 --columns 10 --out -",
         "--out: '-' is standard output, which holds no folder; name a folder, './-' for one of "
         "that name"},
    };
    for (size_t i = 0; i < sizeof slips / sizeof *slips; i++) {
        assert_int_equal(shell("rowlock %s", slips[i].line), 64);
        char whole[512];
        snprintf(whole, sizeof whole, "rowlock: %s\n", slips[i].said);
        assert_string_equal(command_said, whole);
    }
    assert_int_equal(shell("printf 'widht = 1m\n' > job.ini; rowlock plan --job job.ini"), 65);
    assert_string_equal(command_said,
                        "rowlock: job.ini:1: widht: no such setting; did you mean width?\n");
    assert_int_equal(shell("test -e o || test -e ./-"), 1);
}

/* Plans with standard error on a terminal, and returns what that showed. */
static const char *shown_on_terminal(const char *variables)
{
    static char shown[1 << 16];
    const int terminal = posix_openpt(O_RDWR | O_NOCTTY);
    assert_true(terminal >= 0 && !grantpt(terminal) && !unlockpt(terminal));
    /* Held open here, or the last of what was said could be lost with its only writer. */
    const int other = open(ptsname(terminal), O_RDWR | O_NOCTTY);
    assert_true(other >= 0);
    assert_int_equal(shell("env -u NO_COLOR %s '%s' plan s.ppm --columns 9 --threads 1 --book no "
                           "--quote no --out o 2> %s",
                           variables, command_program, ptsname(terminal)),
                     0);
    assert_int_equal(fcntl(terminal, F_SETFL, O_NONBLOCK), 0);
    size_t length = 0;
    for (ssize_t got; length < sizeof shown - 1; length += (size_t)got)
        if ((got = read(terminal, shown + length, sizeof shown - 1 - length)) <= 0) break;
    shown[length] = 0;
    close(other);
    close(terminal);
    return shown;
}

static void progress_is_plain_where_that_is_asked_for(void **state)
{
    (void)state;
    static const struct {
        const char *variables;
        bool plain;
    } terminals[] = {
        {"TERM=xterm NO_COLOR=", false}, {"TERM=xterm NO_COLOR=1", true}, {"TERM=dumb", true}};
    for (size_t i = 0; i < sizeof terminals / sizeof *terminals; i++) {
        const char *shown = shown_on_terminal(terminals[i].variables);
        assert_true(!strchr(shown, '\033') == terminals[i].plain);
        assert_non_null(strstr(shown, terminals[i].plain ? "look\r\n" : "\033[Klook "));
    }
    assert_int_equal(shell("rowlock replan o --built 1 --out -"), 64);
    assert_non_null(strstr(command_said, "name a folder"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(help_is_the_same_however_it_is_asked_for),
                                       cmocka_unit_test(out_is_said_as_each_command_takes_it),
                                       cmocka_unit_test(a_slip_is_answered_by_its_mend),
                                       cmocka_unit_test(progress_is_plain_where_that_is_asked_for)};
    return cmocka_run_group_tests(tests, setup, command_teardown);
}
