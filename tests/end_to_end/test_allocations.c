/* Every allocation of a run can fail, in the program itself and in the libraries it rests on: the
 * run then ends in the files that it would have written anyway, byte for byte, or in a documented
 * exit (sysexits(3)) with one line and nothing left behind; never by a signal. A library is
 * preloaded that fails one allocation of the run, or all from one on (support/failing_malloc.c).
 *
 * A few allocations of each run are tried, spread evenly; ALLOCATIONS sets how many, 0 for all. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "support/chart_drawn.h"
#include "support/command.h"

enum { TRIED = 6 };

/* What is run, and what it writes. */
static const struct Run {
    const char *arguments, *output;
} runs[] = {
    {"plan --job plan.ini --out o", "o"},
    {"plan --reference first/proof.jpg --columns 8 --build wall --mask first/proof.jpg --relief "
     "luminance --thickness 2 --out o",
     "o"},
    {"replan first --built 1-2 --stock stock.csv --out o", "o"},
    {"compare first/preview.png --columns 8 --dither none --dither blue-noise --out o", "o"},
    {"pick first/preview.png --columns 8 --colours 3 --out o.cgats", "o.cgats o-curve.*"},
    {"check first", "first/plan.json"},
    {"measure bricks.ppm --patches bricks.csv --into palette.csv --out o.cgats", "o.cgats"},
    {"inspect first first/preview.png --panel r1c1 --sheet ff00ff --out o", "o"},
};

static int prepare(void **state)
{
    if (command_setup(state) || speckle(in_room("ref.ppm"), 24, 18)) return -1;
    if (!chart_drawn(in_room("bricks.ppm")) || shell("printf '" DRAWN_BRICKS "' > bricks.csv; "
                                                     "printf 'id,hex\\nB,#202020\\nC,#e0e0e0\\n' > "
                                                     "palette.csv"))
        return -1;
    if (shell("printf 'colour,size,quantity,price\\nN1,1x1,900,0.1\\nN9,1x1,900,0.1\\n' > "
              "stock.csv; printf 'reference=first/preview.png\\ncolumns=8\\nkit=4x4\\nstock="
              "stock.csv\\nrelief=map\\ndepth-map=first/distance.png\\neffort=0\\n' > plan.ini"))
        return -1;
    return shell("rowlock plan ref.ppm --columns 9 --out first");
}

/* Runs with a failing allocation, 0: none; the exit code. */
static int run_with(const struct Run *run, long fail_at, const char *more)
{
    static char library[PATH_MAX + 64];
    snprintf(library, sizeof library, "%.*s/tests/support/failing_malloc.so",
             (int)(strrchr(command_program, '/') - command_program), command_program);
    return shell("rm -rf o o.cgats o-curve.*; FAIL_AT=%ld %s LD_PRELOAD='%s' '%s' %s %s", fail_at,
                 more, library, command_program, run->arguments,
                 !strncmp(run->arguments, "check", 5)     ? ""
                 : !strncmp(run->arguments, "measure", 7) ? "--quiet"
                                                          : "--quiet --threads 1");
}

static int is_documented(int code)
{
    return code == 65 || code == 66 || code == 69 || code == 73 || code == 74;
}

static void try_one(const struct Run *run, long fail_at, const char *more)
{
    const int code = run_with(run, fail_at, more);
    const char *end = strchr(command_said, '\n');
    if (code == 0) {
        if (shell("for f in %s; do diff -r good/$f $f || exit 1; done", run->output))
            fail_msg("%s: allocation %ld %s: done, but not as without: %s", run->arguments, fail_at,
                     more, command_said);
    } else if (!is_documented(code) || !end || end[1]) {
        fail_msg("%s: allocation %ld %s: exit %d: %s", run->arguments, fail_at, more, code,
                 command_said);
    } else if (*run->output == 'o' && !shell("ls -d %s", run->output)) {
        fail_msg("%s: allocation %ld %s: left behind: %s", run->arguments, fail_at, more,
                 command_said);
    }
}

static long allocations_of(const struct Run *run)
{
    long count = 0;
    if (run_with(run, 0, "FAIL_COUNT=count")) fail_msg("%s: %s", run->arguments, command_said);
    assert_int_equal(shell("mkdir -p good/first; cp -r --parents %s good", run->output), 0);
    FILE *file = fopen(in_room("count"), "r");
    assert_non_null(file);
    assert_int_equal(fscanf(file, "%ld", &count), 1);
    fclose(file);
    assert_true(count > 100);
    return count;
}

static void any_allocation_may_fail(void **state)
{
    (void)state;
#ifdef __SANITIZE_ADDRESS__
    skip(); /* it has an allocator of its own */
#endif
    const char *asked = getenv("ALLOCATIONS");
    const long tried = asked ? atol(asked) : TRIED;
    for (size_t i = 0; i < sizeof runs / sizeof *runs; i++) {
        const struct Run *run = &runs[i];
        assert_int_equal(shell("rm -rf good"), 0);
        const long count = allocations_of(run), step = tried ? count / tried + 1 : 1;
        for (long at = 1 + step / 3; at <= count; at += step) {
            try_one(run, at, "");
            if (at / step % 4 == 0) try_one(run, at, "FAIL_ON=1");
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(any_allocation_may_fail)};
    return cmocka_run_group_tests(tests, prepare, command_teardown);
}
