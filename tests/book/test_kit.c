/* Kit: what the cards and labels say is read back by poppler's pdftotext and compared
 * with the bricks, counted by brute force; qpdf reads the file; the command cuts panels at
 * the card's size. */
#include "base/memory.h"
#include "book/kit.h"
#include "support/command.h"
#include "support/mural_fixture.h"

#include <setjmp.h>
#include <stdarg.h>

#include <cmocka.h>

#include <ctype.h>
#include <unistd.h>

static const FixtureAsk asks[] = {
    {24, 16, 8, 8, 6, BUILD_PLAQUE, 1, 0, FACE_BANDS, PAPER_A4},
    {20, 20, 20, 20, 40, BUILD_PLAQUE, 1, 0, FACE_NOISE, PAPER_LETTER},
    {24, 12, 12, 12, 6, BUILD_PLAQUE, 1, 3, FACE_BANDS, PAPER_A4},
    {20, 8, 10, 8, 6, BUILD_WALL, 3, 2, FACE_BANDS, PAPER_LETTER},
};
enum { ASKS = sizeof asks / sizeof *asks };

static void write_kit(const Fixture *f)
{
    Fault fault = {0};
    if (kit_write(&f->mural, in_room("kit.pdf"), NULL, &fault)) fail_msg("%s", fault.text);
}

static char *text_of(const char *options)
{
    assert_int_equal(shell("pdftotext %s kit.pdf kit.txt", options), 0);
    return slurp(in_room("kit.txt"), NULL);
}

/* Sum of the numbers that stand before "× SIZE" (or "×SIZE") in the text. */
static long said(const char *text, const char *size, bool spaced)
{
    char mark[40];
    const size_t length =
        (size_t)snprintf(mark, sizeof mark, "%s×%s%s", spaced ? " " : "", spaced ? " " : "", size);
    long sum = 0;
    for (const char *at = text; (at = strstr(at, mark)); at += length) {
        if (isalnum((unsigned char)at[length])) continue;
        const char *digits = at;
        while (digits > text && isdigit((unsigned char)digits[-1])) digits--;
        sum += strtol(digits, NULL, 10);
    }
    return sum;
}

static long counted(const Fixture *f, int size, int panel)
{
    long count = 0;
    for (size_t i = 0; i < f->laid.count; i++)
        count += f->laid.brick[i].size == size && (panel < 0 || f->laid.brick[i].panel == panel);
    return count;
}

/* The bags of all cards together hold every brick, size by size; each card is named, with
 * the number of its bricks. Source: the mural's bricks. */
static void bags_hold_every_brick(void **state)
{
    (void)state;
    for (int k = 0; k < ASKS; k++) {
        Fixture f;
        fixture_init(&f, &asks[k]);
        write_kit(&f);
        char *text = text_of("-raw");
        for (int size = 0; size < f.sizes.count; size++)
            assert_int_equal(said(text, f.sizes.size[size].name, true), counted(&f, size, -1));
        for (int panel = 0; panel < f.panels.count; panel++) {
            char name[64];
            long bricks = 0;
            for (int size = 0; size < f.sizes.count; size++) bricks += counted(&f, size, panel);
            snprintf(name, sizeof name, "Card %s\n%ld bricks in", f.panels.panel[panel].name,
                     bricks);
            assert_non_null(strstr(text, name));
        }
        assert_non_null(strstr(text, "Small parts: the sizes"));
        assert_non_null(strstr(text, "Builder"));
        free(text);
        fixture_clear(&f);
    }
}

/* The labels hold every brick too, where all fits; where it does not, they say so. */
static void labels_tell_the_parts(void **state)
{
    (void)state;
    Fixture f;
    fixture_init(&f, &asks[0]);
    write_kit(&f);
    char *text = text_of("-raw");
    const bool cut = strstr(text, "and more: see the card") != NULL;
    for (int size = 0; size < f.sizes.count; size++) {
        const long told = said(text, f.sizes.size[size].name, false);
        if (cut)
            assert_true(told <= counted(&f, size, -1));
        else
            assert_int_equal(told, counted(&f, size, -1));
    }
    assert_false(cut);
    free(text);
    fixture_clear(&f);
    fixture_init(&f, &asks[1]);
    write_kit(&f);
    text = text_of("-raw");
    assert_non_null(strstr(text, "and more: see the card"));
    free(text);
    fixture_clear(&f);
}

static void is_a_sound_pdf(void **state)
{
    (void)state;
    for (int k = 0; k < ASKS; k++) {
        Fixture f;
        fixture_init(&f, &asks[k]);
        write_kit(&f);
        assert_int_equal(shell("qpdf --check kit.pdf && pdfinfo kit.pdf | grep -q 'Tagged: *yes'"),
                         0);
        assert_int_equal(shell("cp kit.pdf first.pdf"), 0);
        write_kit(&f);
        assert_int_equal(shell("cmp kit.pdf first.pdf"), 0);
        fixture_clear(&f);
    }
}

/* Each allocation fails in turn: a fault, and no file. */
static void lacks_memory(void **state)
{
    (void)state;
    Fixture f;
    const FixtureAsk ask = {8, 4, 4, 4, 4, BUILD_PLAQUE, 1, 1, FACE_BANDS, PAPER_A4};
    fixture_init(&f, &ask);
    Status status = STATUS_NO_RESOURCE;
    for (long n = 0; status; n++) {
        Fault fault = {0};
        remove(in_room("kit.pdf"));
        memory_fail_after(n);
        status = kit_write(&f.mural, in_room("kit.pdf"), NULL, &fault);
        memory_fail_after(-1);
        if (!status) break;
        assert_int_equal(status, STATUS_NO_RESOURCE);
        assert_int_equal(access(in_room("kit.pdf"), F_OK), -1);
    }
    fixture_clear(&f);
}

/* The command: panels are cut at the card's size; the kit belongs to the plan, and goes when the
 * setting goes. */
static void command_cuts_cards(void **state)
{
    (void)state;
    FILE *picture = fopen(in_room("noise.ppm"), "wb");
    unsigned seed = 5;
    fprintf(picture, "P6 30 20 255\n");
    for (int i = 0; i < 30 * 20 * 3; i++) putc((int)(chance(&seed) % 256), picture);
    fclose(picture);
    static const char plan[] = "rowlock plan noise.ppm --columns 30 --quiet --book no --out p";
    assert_int_equal(shell("%s --kit 8x7 && rowlock check p", plan), 0);
    assert_int_equal(access(in_room("p/kit.pdf"), F_OK), 0);
    assert_int_equal(shell("awk -F, 'NR > 1 && ($4 > 8 || $5 > 7) { exit 1 }' p/panels.csv"), 0);
    assert_int_equal(shell("grep -q '\"kit.pdf\"' p/plan.json"), 0);
    assert_int_equal(shell("%s && rowlock check p", plan), 0);
    assert_int_equal(access(in_room("p/kit.pdf"), F_OK), -1);
    static const char *const bad[] = {"8", "8x", "1x8", "8x21", "0x0", "8x8x8", "-8x8", "8 x 8"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        assert_int_equal(shell("%s --kit '%s'", plan, bad[i]), 64);
        assert_non_null(strstr(command_said, "--kit: "));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bags_hold_every_brick), cmocka_unit_test(labels_tell_the_parts),
        cmocka_unit_test(is_a_sound_pdf),        cmocka_unit_test(lacks_memory),
        cmocka_unit_test(command_cuts_cards),
    };
    return cmocka_run_group_tests(tests, command_setup, command_teardown);
}
