/* What goes wrong around a plan: inputs without end, pipes and devices where files are due, files
 * that may not be read, names of any bytes, signals at the first moment. Each ends in one line that
 * says what to do, and soon.
 *
 * Exit codes: sysexits(3). TMPDIR: POSIX.1-2008, section 8.3. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "support/command.h"

static void says_one_line(const char *part)
{
    if (!strstr(command_said, part)) fail_msg("'%s' is not in: %s", part, command_said);
    const char *end = strchr(command_said, '\n');
    if (!end || end[1]) fail_msg("not one line: %s", command_said);
}

/* A picture of 8 x 6 pixels. */
static void draw_picture(const char *name)
{
    FILE *file = fopen(in_room(name), "wb");
    assert_non_null(file);
    fprintf(file, "P6\n8 6\n255\n");
    for (int i = 0; i < 8 * 6 * 3; i++) fputc(i * 37 % 256, file);
    fclose(file);
}

/* ulimit -f holds what is written in any file, in blocks of 512 or 1024 bytes: at most 100 MB. */
static void endless_input_is_not_copied_without_end(void **state)
{
    (void)state;
    draw_picture("ref.ppm");
    assert_int_equal(shell("ulimit -f 100000; rowlock plan /dev/zero --quiet --columns 9 --out o"),
                     65);
    says_one_line("/dev/zero: is no picture of a known kind");
    assert_int_equal(shell("ulimit -f 100000; rowlock plan ref.ppm --relief map --depth-map "
                           "/dev/zero --quiet --columns 9 --out o"),
                     65);
    says_one_line("/dev/zero: is no picture of a known kind");
    assert_int_equal(
        shell("cat ref.ppm /dev/zero | (ulimit -f 200000; rowlock plan - --quiet --columns 9 "
              "--limit 0.001 --out o)"),
        65);
    says_one_line("standard input: goes on after 67 MB");
    assert_int_equal(shell("cat ref.ppm | rowlock plan - --columns 9 --out o && rowlock check o"),
                     0);
}

static void temporary_files_are_where_they_are_wanted(void **state)
{
    (void)state;
    draw_picture("ref.ppm");
    assert_int_equal(shell("cat ref.ppm | TMPDIR=$PWD/nowhere rowlock plan - --columns 9 --out o"),
                     74);
    says_one_line("standard input: no temporary file in ");
    assert_non_null(strstr(command_said, "/nowhere: No such file"));
    assert_int_equal(shell("mkdir -p tmp; cat ref.ppm | TMPDIR=$PWD/tmp rowlock plan - --columns 9 "
                           "--out o && test -z \"$(ls -A tmp)\""),
                     0);
}

static void checking_waits_for_nothing(void **state)
{
    (void)state;
    draw_picture("ref.ppm");
    static const char *const files[] = {"plan.json", "cells.png", "bricks.csv", "preview.png",
                                        "book.pdf"};
    for (size_t i = 0; i < sizeof files / sizeof *files; i++) {
        assert_int_equal(shell("rm -rf o; rowlock plan ref.ppm --columns 9 --out o"), 0);
        assert_int_equal(shell("rm o/%s && mkfifo o/%s", files[i], files[i]), 0);
        const int code = shell("timeout 20 '%s' check o", command_program);
        assert_true(code == 1 || code == 66);
        assert_int_equal(shell("rm o/%s && ln -s /dev/zero o/%s", files[i], files[i]), 0);
        const int endless = shell("timeout 20 '%s' check o", command_program);
        assert_true(endless == 1 || endless == 66);
        const int again = shell("timeout 20 '%s' replan o --built 1-2 --out p", command_program);
        assert_true(again == 66 || again == 74 || i > 2);
    }
}

static void what_may_not_be_read_is_said(void **state)
{
    (void)state;
    draw_picture("ref.ppm");
    assert_int_equal(shell("rowlock plan absent.png --columns 9 --out o"), 66);
    says_one_line("absent.png: there is no such file; check the name");
    if (!geteuid()) skip(); /* root may read everything */
    static const char *const line[] = {"'%s' plan shut --columns 9 --out o",
                                       "'%s' plan --job shut --out o",
                                       "'%s' plan ref.ppm --cells shut --columns 9 --out o",
                                       "'%s' plan ref.ppm --palette shut --columns 9 --out o"};
    assert_int_equal(shell("cp ref.ppm shut && chmod 0 shut"), 0);
    for (size_t i = 0; i < sizeof line / sizeof *line; i++) {
        char run[PATH_MAX + 128];
        snprintf(run, sizeof run, line[i], command_program);
        assert_int_equal(shell("%s", run), 66);
        says_one_line("shut: cannot be opened (Permission denied); check its permissions");
    }
}

/* A name of bytes that are no UTF-8 (Latin-1), and one that looks like the way in which plan.json
 * tells of such names. */
static void a_picture_of_any_name_can_be_planned_again(void **state)
{
    (void)state;
    draw_picture("ref.ppm");
    static const char *const names[] = {"caf\xe9 100%.ppm", "file:ref%41.ppm", "caf\xc3\xa9.ppm"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        assert_int_equal(shell("rm -rf o p; cp ref.ppm '%s'", names[i]), 0);
        assert_int_equal(shell("rowlock plan '%s' --columns 9 --out o && rowlock check o && "
                               "rowlock replan o --built 1-2 --out p && rowlock check p",
                               names[i]),
                         0);
    }
}

/* The program waits for a writer of the job file, before it has read anything: the signal is sent
 * once it is caught (bit 14 of SigCgt, proc(5)). */
static void a_signal_at_the_first_moment_is_heard(void **state)
{
    (void)state;
    if (getenv("EMULATED")) skip(); /* an emulator catches signals from the first on */
    assert_int_equal(
        shell(
            "mkfifo job.ini; '%s' plan --job job.ini --out o & p=$!; until grep -q "
            "'^SigCgt:.*[4-7c-f]...$' /proc/$p/status; do sleep 0.02; done; kill -TERM $p; wait $p",
            command_program),
        75);
    says_one_line("job.ini: stopped from outside, nothing was changed");
}

static void whole_numbers_are_digits(void **state)
{
    (void)state;
    draw_picture("ref.ppm");
    static const char *const texts[] = {"1e1", "1E1", "9.0", "+9", "0x9", "9e", "", "-"};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        assert_int_equal(shell("rowlock plan ref.ppm --columns '%s' --out o", texts[i]), 64);
        says_one_line("is not a whole number; give digits");
    }
    assert_int_equal(shell("rowlock plan ref.ppm --columns -9 --out o"), 64);
    says_one_line("--columns: '-9' is out of range");
}

/* A relief takes more units than its face has cells; what is said is what the shelf has. */
static void a_stock_that_runs_out_is_counted_in_units(void **state)
{
    (void)state;
    draw_picture("ref.ppm");
    assert_int_equal(shell("printf 'colour,size,quantity\\nN1,1x1,300\\nN9,1x1,300\\n' > s.csv; "
                           "rowlock plan ref.ppm --columns 22 --relief luminance --steps 6 --stock "
                           "s.csv --stock-only --quiet --out o"),
                     65);
    says_one_line(" has 300 units, the bricks would take ");
}

/* A spreadsheet would run them as formulas. The plan, its check, its left.csv as the next stock and
 * what is planned again know them by their names. */
static void names_that_look_like_formulas_are_guarded(void **state)
{
    (void)state;
    draw_picture("ref.ppm");
    assert_int_equal(
        shell("printf 'id,name,hex\n=N1,@SUM(A1),#111111\n-N9,\"+cmd, x\",#f4f4f4\n'"
              "\"'\"'N5,'\"'\"'=x,#777777\n' > p.csv; printf 'colour,size,quantity,price\n"
              "=N1,1x1,900,0.1\n-N9,1x1,900,0.1\n' > s.csv; rowlock plan ref.ppm --columns 16 "
              "--palette p.csv --stock s.csv --out o && rowlock check o"),
        0);
    assert_int_equal(shell("cat o/parts.csv o/bricks.csv o/left.csv | tr , '\\n' | "
                           "grep '^\"*[=+@-]'"),
                     1);
    assert_int_equal(shell("grep -q \"^'=N1,'@SUM(A1),\" o/parts.csv && rowlock replan o --built "
                           "1-2 --stock o/left.csv --out p && rowlock check p"),
                     0);
}

/* A job file of somebody else must not replace a folder far from where it is run. */
static void a_job_writes_into_the_working_folder_alone(void **state)
{
    (void)state;
    draw_picture("ref.ppm");
    assert_int_equal(shell("mkdir -p here there/jobs && ln -sfn \"$PWD/there\" here/link"), 0);
    static const char *const outside[] = {"../o", "/tmp/rowlock-o", "link/o", "a/../../o",
                                          "..",   "none/../../../o"};
    for (size_t i = 0; i < sizeof outside / sizeof *outside; i++) {
        assert_int_equal(shell("cd here; printf 'reference=../ref.ppm\\ncolumns=9\\nout=%s\\n' > "
                               "j.ini; rowlock plan --job j.ini",
                               outside[i]),
                         64);
        says_one_line("j.ini: the job's out, '");
    }
    assert_int_equal(shell("cd here; printf 'reference=../ref.ppm\\ncolumns=9\\nout=a/./o\\n' > "
                           "j.ini; rowlock plan --job j.ini && rowlock check a/o"),
                     0);
    assert_int_equal(shell("cd there/jobs; rowlock plan --job ../../here/j.ini"), 64);
    says_one_line("../../here/j.ini: the job's out, '../../here/a/./o', is outside");
    assert_int_equal(shell("cd there/jobs; rowlock plan --job ../../here/j.ini --out "
                           "../../here/a/o && rowlock check ../../here/a/o"),
                     0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(endless_input_is_not_copied_without_end),
        cmocka_unit_test(temporary_files_are_where_they_are_wanted),
        cmocka_unit_test(checking_waits_for_nothing),
        cmocka_unit_test(what_may_not_be_read_is_said),
        cmocka_unit_test(a_picture_of_any_name_can_be_planned_again),
        cmocka_unit_test(a_signal_at_the_first_moment_is_heard),
        cmocka_unit_test(whole_numbers_are_digits),
        cmocka_unit_test(a_job_writes_into_the_working_folder_alone),
        cmocka_unit_test(names_that_look_like_formulas_are_guarded),
        cmocka_unit_test(a_stock_that_runs_out_is_counted_in_units),
    };
    return cmocka_run_group_tests(tests, command_setup, command_teardown);
}
