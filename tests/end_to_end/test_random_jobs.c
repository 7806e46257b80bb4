/* Random jobs: whatever settings come together, a run ends in a plan that passes `check` or in an
 * exit that is documented (sysexits(3)) with one line that says why and nothing left behind; never
 * by a signal, never as a defect of the program.
 *
 * Settings that act on the same bricks are given or not by the draw of a generator: stock, stock
 * only, recolouring, relief, wall, hollow, kit, even cards, panels, mask, favour, backing, painted
 * cells; half of the plans are planned again around what stands. Faces are small, so that panels
 * of one cell, stocks that run out and reliefs that are taller than wide come often.
 * RANDOM_JOBS sets how many jobs are drawn, RANDOM_JOBS_FROM the number of the first; a job is
 * drawn from its number alone, and its command lines are printed where it fails. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "support/chance.h"
#include "support/command.h"

enum { JOBS = 40 };

static uint64_t seed;

static int between(int least, int most)
{
    return least + (int)(draw(&seed) % (uint64_t)(most - least + 1));
}

/* True once in n draws. */
static int once_in(int n) { return draw(&seed) % (uint64_t)n == 0; }

static const char *one_of(const char *const *words, int count)
{
    return words[between(0, count - 1)];
}
#define ONE_OF(...)                                                                                \
    one_of((const char *const[]){__VA_ARGS__},                                                     \
           sizeof((const char *[]){__VA_ARGS__}) / sizeof(char *))

/* ---- what the jobs read ---- */

/* A picture of blocks with some noise: flat parts give large bricks, noise gives small ones.
 * PNM, so that no library stands between. */
static void draw_picture(const char *name, int grey)
{
    enum { WIDE = 48, HIGH = 40 };
    FILE *file = fopen(in_room(name), "wb");
    assert_non_null(file);
    fprintf(file, "P%d\n%d %d\n255\n", grey ? 5 : 6, WIDE, HIGH);
    const int block = between(2, 24), noise = once_in(2) ? 0 : between(1, 200);
    const uint64_t tint = draw(&seed);
    for (int y = 0; y < HIGH; y++)
        for (int x = 0; x < WIDE; x++)
            for (int c = 0; c < (grey ? 1 : 3); c++) {
                const int at = x / block * 7 + y / block * 13 + c * 3;
                const int flat = (int)(tint >> at % 57 & 127) * 2;
                const int value = flat + (noise ? between(-noise, noise) : 0);
                fputc(value < 0 ? 0 : value > 255 ? 255 : value, file);
            }
    fclose(file);
}

/* Colours of the program's own palette; some stocks have plenty, some too little of everything. */
static void draw_stock(void)
{
    static const char *const sizes[] = {"1x1", "1x2", "2x2", "1x4", "2x4", "1x3", "2x3", "1x6"};
    FILE *file = fopen(in_room("stock.csv"), "w");
    assert_non_null(file);
    fputs("colour,size,quantity,price\n", file);
    const int colours = between(1, 6), plenty = between(1, 3000);
    for (int c = 0; c < colours; c++) {
        const int grey = 1 + (c * 3 + between(0, 2)) % 9;
        const int kinds = once_in(3) ? 1 : between(1, 8);
        if (c && once_in(6)) continue;
        for (int s = 0; s < kinds; s++)
            fprintf(file, "N%d,%s,%d,0.%02d\n", grey, sizes[s], between(0, plenty), between(0, 60));
    }
    fclose(file);
}

/* ---- one job ---- */

static char line[4096];

__attribute__((format(printf, 1, 2))) static void add(const char *format, ...)
{
    const size_t length = strlen(line);
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(line + length, sizeof line - length, format, arguments);
    va_end(arguments);
}

static void add_solid(void)
{
    if (once_in(3)) add(" --build wall --thickness %d", between(1, 5));
    if (once_in(2)) {
        add(" --relief %s --toward %s", ONE_OF("luminance", "map --depth-map depth.pgm"),
            ONE_OF("light", "dark"));
        add(" --steps %d", between(1, 12));
        if (once_in(3)) add(" --mask mask.pgm");
        if (once_in(3)) add(" --relief-jump %d", between(0, 4));
        if (once_in(3)) add(" --relief-islands %d", between(0, 12));
        if (once_in(3)) add(" --relief-smooth %d", between(0, 6));
        if (once_in(4)) add(" --relief-curve %d", between(0, 50));
    }
    if (once_in(3)) add(" --hollow %d", between(0, 3));
    if (once_in(3)) add(" --backing N%d", between(1, 9));
}

static void add_bricks(void)
{
    if (once_in(2)) add(" --stock stock.csv");
    if (once_in(2)) add(" --stock-only --recolour %d", between(0, 30));
    if (once_in(2)) add(" --favour %s", ONE_OF("bricks", "cost", "bond"));
    if (once_in(3)) add(" --rate %d", between(0, 40));
    if (once_in(3)) add(" --panel %dx%d", between(1, 30), between(1, 30));
    if (once_in(4)) add(" --panel-mass %dg", between(1, 3000));
    if (once_in(4)) add(" --kit %dx%d", between(2, 20), between(2, 20));
    if (once_in(4)) add(" --kit-even");
    if (once_in(4)) add(" --spare %d", between(0, 20));
}

static void add_look(void)
{
    add(" --columns %d", once_in(6) ? between(1, 4) : between(4, 40));
    if (once_in(4)) add(" --rows %d", once_in(6) ? between(1, 3) : between(3, 36));
    if (once_in(3)) add(" --dither %s", ONE_OF("none", "floyd-steinberg", "blue-noise"));
    if (once_in(4)) add(" --brick-thrift %d", between(0, 1));
    if (once_in(6)) add(" --tone fit");
    add(" --effort %s --book %s --quote %s --threads %d", ONE_OF("0", "0", "0.25"),
        ONE_OF("no", "no", "no", "no", "no", "no", "no", "yes"), ONE_OF("no", "yes"),
        between(1, 2));
}

/* What stands: some panels by name, or rows from the bottom. */
static void add_standing(void)
{
    if (once_in(2))
        add(" --built 1-%d", between(1, 6));
    else
        add(" --built r1c1%s", once_in(2) ? ",r1c2" : "");
    if (once_in(3)) add(" --stock stock.csv");
    if (once_in(3)) add(" --stock-only");
    if (once_in(4)) add(" --palette grey.csv");
    add(" --quiet");
}

/* ---- what must hold ---- */

static long failures;

/* One more failure, with what was run and said; the other jobs are still drawn. */
static void fails(long number, const char *what)
{
    print_error("job %ld: %s\n%s: %s\n", number, line, what, command_said);
    failures++;
}

static int lines_said(void)
{
    int lines = 0;
    for (const char *c = command_said; *c; c++) lines += *c == '\n';
    return lines;
}

/* A plan that came with exit 0 passes; one that came with 1 is whole, but what its run said of
 * it is true. */
static void passes_check(const char *out, int code, long number)
{
    const int checked = shell("rowlock check %s", out);
    if (checked != code) fails(number, "its check differs");
}

/* Runs the line, which writes folder `out`; true where there is a plan after. */
static int ends_well(const char *out, long number)
{
    const int code = shell("%s", line);
    if (code == 0 || code == 1) {
        passes_check(out, code, number);
        return 1;
    }
    const int documented = code == 64 || code == 65 || code == 73;
    if (!documented) fails(number, "no documented exit");
    if (lines_said() != 1 || strncmp(command_said, "rowlock: ", 9) != 0)
        fails(number, "not one line");
    if (shell("test ! -e %s && test -z \"$(find . -mindepth 1 -maxdepth 1 -type d ! -name plan)\"",
              out))
        fails(number, "leaves something behind");
    return 0;
}

static void one_job(long number)
{
    seed = (uint64_t)number * 0x5851f42d4c957f2du + 1;
    assert_int_equal(shell("rm -rf plan again"), 0);
    draw_picture("picture.ppm", 0);
    draw_picture("depth.pgm", 1);
    draw_picture("mask.pgm", 1);
    draw_stock();
    snprintf(line, sizeof line, "rowlock plan picture.ppm --out plan --quiet");
    add_look();
    add_solid();
    add_bricks();
    if (!ends_well("plan", number)) return;
    if (once_in(4)) {
        snprintf(line, sizeof line, "cp plan/cells.png own.png; ");
        add("rowlock plan picture.ppm --cells own.png --out again --quiet --book no");
        add_solid();
        add_bricks();
        ends_well("again", number);
    } else if (once_in(2)) {
        snprintf(line, sizeof line, "rowlock replan plan --out again");
        add_standing();
        ends_well("again", number);
    }
}

static long asked(const char *name, long fallback)
{
    const char *text = getenv(name);
    return text && *text ? strtol(text, NULL, 10) : fallback;
}

static void random_jobs_end_well(void **state)
{
    (void)state;
    FILE *palette = fopen(in_room("grey.csv"), "w");
    assert_non_null(palette);
    fputs("id,name,hex\nN1,darkest,#111111\nN5,middle,#777777\nN9,lightest,#f4f4f4\n", palette);
    fclose(palette);
    const long first = asked("RANDOM_JOBS_FROM", 1), jobs = asked("RANDOM_JOBS", JOBS);
    for (long i = 0; i < jobs; i++) one_job(first + i);
    assert_int_equal(failures, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(random_jobs_end_well)};
    return cmocka_run_group_tests(tests, command_setup, command_teardown);
}
