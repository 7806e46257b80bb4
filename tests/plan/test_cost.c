/* What a plan is said to take, against the most memory that the system counted for it: the resident
 * set of getrusage, as wait4 returns it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "plan/cost.h"
#include "support/command.h"

#include <sys/resource.h>
#include <zlib.h>

/* Settings of a plan, name and value in turn. */
static const struct Kind {
    int columns, rows;
    const char *setting[10];
} kinds[] = {
    {400, 267, {"dither", "none"}},
    {160, 107, {"dither", "distance"}},
    {200, 133, {"dither", "none", "relief", "luminance", "steps", "8"}},
    {300, 200, {"dither", "none", "build", "wall", "thickness", "4"}},
};

static double most_bytes_of(char *const *arguments)
{
    struct rusage used;
    int how;
    const pid_t child = fork();
    if (!child) {
        execv(command_program, arguments);
        _exit(127);
    }
    assert_int_equal(wait4(child, &how, 0, &used), child);
    assert_int_equal(WEXITSTATUS(how), 0);
    return 1024.0 * (double)used.ru_maxrss;
}

static void what_is_said_is_taken(void **state)
{
    (void)state;
#ifdef __SANITIZE_ADDRESS__
    skip(); /* it takes more for itself */
#endif
    if (getenv("EMULATED")) skip(); /* so does qemu */
    for (const struct Kind *k = kinds; k < kinds + sizeof kinds / sizeof *kinds; k++) {
        static Job job;
        char word[6][64], columns[16], out[PATH_MAX];
        snprintf(columns, sizeof columns, "%d", k->columns);
        snprintf(out, sizeof out, "%s", in_room("o"));
        char *arguments[24] = {"rowlock",   "plan",      "tests/data/pictures/coffee.png",
                               "--columns", columns,     "--threads",
                               "2",         "--book=no", "--quote=no",
                               "--quiet",   "--out",     out};
        int n = 12;
        job_init(&job);
        job.book = 0;
        job.threads = 2;
        for (int i = 0; k->setting[i]; i += 2) {
            Fault fault;
            const Setting *s = setting_find(k->setting[i]);
            assert_int_equal(job_set(&job, s, k->setting[i + 1], "kind", NULL, &fault), 0);
            snprintf(word[i / 2], sizeof *word, "--%s=%s", k->setting[i], k->setting[i + 1]);
            arguments[n++] = word[i / 2];
        }
        const Brief brief = brief_of(&job, NULL, NULL);
        const double said = cost_of(&brief, k->columns, k->rows).bytes,
                     taken = most_bytes_of(arguments);
        if (said > 2 * taken || taken > 2 * said)
            fail_msg("%s: %.0f MB said, %.0f MB taken", arguments[12], said / 1e6, taken / 1e6);
    }
}

static void what_is_too_much_is_refused(void **state)
{
    (void)state;
    const char *picture = "$OLDPWD/tests/data/pictures/coffee.png";
    assert_int_equal(shell("rowlock plan \"%s\" --columns 1000 --memory 200MB --out big", picture),
                     69);
    assert_non_null(strstr(command_said, "memory: 1000 x 667 cells take about "));
    assert_non_null(strstr(command_said, " and 200 MB may be taken; plan fewer cells"));
    assert_int_equal(shell("test ! -e big && rowlock plan \"%s\" --columns 9 --memory 200MB --out "
                           "small",
                           picture),
                     0);
    assert_int_equal(shell("rowlock plan \"%s\" --columns 9 --memory 200 --out big", picture), 64);
    assert_int_equal(shell("rowlock compare \"%s\" --columns 300 --columns 301 --columns 302 "
                           "--columns 303 --threads 4 --memory 200MB --out big",
                           picture),
                     69);
}

static void put_chunk(FILE *file, const char *type, const uint8_t *data, size_t length)
{
    const uLong sum = crc32(crc32(0, (const Bytef *)type, 4), data, (uInt)length);
    const uLong four[] = {length, sum};
    for (int i = 0; i < 2; i++) {
        for (int shift = 24; shift >= 0; shift -= 8) fputc((int)(four[i] >> shift & 255), file);
        if (i == 0) {
            fwrite(type, 1, 4, file);
            fwrite(data, 1, length, file);
        }
    }
}

/* AddressSanitizer's shadow alone is more than such a limit. */
#ifdef __SANITIZE_ADDRESS__
#define WITHIN_500_MB ""
#else
#define WITHIN_500_MB "ulimit -v 500000; "
#endif

/* A head that claims 20000 x 20000 pixels, interlaced, and little more (ISO/IEC 15948, 11.2.2). */
static void an_interlaced_picture_is_weighed_first(void **state)
{
    (void)state;
    const uint8_t head[13] = {0, 0, 0x4e, 0x20, 0, 0, 0x4e, 0x20, 8, 2, 0, 0, 1};
    FILE *file = fopen(in_room("large.png"), "wb");
    assert_non_null(file);
    fputs("\x89PNG\r\n\x1a\n", file);
    put_chunk(file, "IHDR", head, sizeof head);
    put_chunk(file, "IDAT", head, 2);
    fclose(file);
    assert_int_equal(shell(WITHIN_500_MB "rowlock plan large.png --columns 9 --memory 300MB "
                                         "--out big"),
                     69);
    assert_non_null(strstr(command_said, "held whole, which takes 1200 MB where 300 MB may be"));
    assert_int_equal(shell("rowlock plan large.png --columns 9 --memory 3GB --out big"), 65);
    assert_int_equal(shell("rowlock plan \"$OLDPWD/tests/data/pictures/coffee.png\" --columns 9 "
                           "--relief map --depth-map large.png --memory 300MB --out big"),
                     69);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_said_is_taken),
        cmocka_unit_test(what_is_too_much_is_refused),
        cmocka_unit_test(an_interlaced_picture_is_weighed_first),
    };
    return cmocka_run_group_tests(tests, command_setup, command_teardown);
}
