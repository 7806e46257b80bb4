/* Charts on paper: how much ink a dark mural's charts take, and that the ids in their bricks can be
 * read in grey print and by eyes that lack a kind of cone. Pages are set by poppler's pdftoppm.
 *
 * Sources: WCAG 2.1, 1.4.3, for the contrast of type, 4.5; F. Viénot, H. Brettel and J. Mollon,
 * "Digital video colourmaps for checking the legibility of displays by dichromats", Color Research
 * and Application 24 (1999), for what protanopes and deuteranopes see, other than the matrices of
 * book/legend.c, for the primaries of sRGB, from memory. The share of ink is the project's own
 * limit. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "book/book.h"
#include "support/command.h"
#include "support/mural_fixture.h"
#include "support/pdf_words.h"

#include <math.h>

enum { WORDS = 20000, INK_DOTS = 260, TYPE_DOTS = 220 }; /* dots an inch */
#define INK_MOST 0.12                                    /* of a page; black all over is 1 */
#define CONTRAST_LEAST 4.5
#define BAGS 285.0 /* points: left of it are the bags of the one sheet that is read */

static Word word[WORDS];

typedef struct Dots {
    int width, height;
    unsigned char *rgb;
} Dots;

/* Page `number` of book.pdf. */
static Dots set_page(int number, int dots)
{
    Dots d;
    assert_int_equal(
        shell("pdftoppm -r %d -f %d -l %d -singlefile book.pdf page", dots, number, number), 0);
    size_t length;
    char *bytes = slurp(in_room("page.ppm"), &length);
    int begin = 0;
    assert_non_null(bytes);
    assert_int_equal(sscanf(bytes, "P6 %d %d 255%n", &d.width, &d.height, &begin), 2);
    const size_t size = 3 * (size_t)d.width * (size_t)d.height;
    assert_int_equal(length, (size_t)begin + 1 + size);
    d.rgb = malloc(size);
    memcpy(d.rgb, bytes + begin + 1, size);
    free(bytes);
    return d;
}

static double linear(unsigned char v)
{
    const double c = v / 255.0;
    return c <= 0.04045 ? c / 12.92 : pow((c + 0.055) / 1.055, 2.4);
}

/* What stands on the page as a part of black all over. */
static double ink_of(int page)
{
    Dots d = set_page(page, INK_DOTS);
    const size_t size = 3 * (size_t)d.width * (size_t)d.height;
    double sum = 0;
    for (size_t i = 0; i < size; i++) sum += 255 - d.rgb[i];
    free(d.rgb);
    return sum / (255.0 * (double)size);
}

/* ---- eyes ---- */

/* Plain, in grey, and Viénot's protanope and deuteranope: linear sRGB to the same. */
static const double eye[][9] = {
    {1, 0, 0, 0, 1, 0, 0, 0, 1},
    {0.2126, 0.7152, 0.0722, 0.2126, 0.7152, 0.0722, 0.2126, 0.7152, 0.0722},
    {0.11238, 0.88762, 0, 0.11238, 0.88762, 0, 0.00401, -0.00401, 1},
    {0.29275, 0.70725, 0, 0.29275, 0.70725, 0, -0.02234, 0.02234, 1},
};
enum { EYES = sizeof eye / sizeof *eye };

static double luminance_seen(const unsigned char rgb[3], const double *m)
{
    static const double weight[3] = {0.2126, 0.7152, 0.0722};
    double sum = 0;
    for (int i = 0; i < 3; i++) {
        const double v = m[3 * i] * linear(rgb[0]) + m[3 * i + 1] * linear(rgb[1]) +
                         m[3 * i + 2] * linear(rgb[2]);
        sum += weight[i] * fmin(fmax(v, 0), 1);
    }
    return sum;
}

static int by_size(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Of the word's type, a few of its dots, to its ground, which most of them are; type is dark on
 * pale bricks and may be white on swatches. Above and below are lines that are no type. */
static double contrast_of(const Dots *d, const Word *w, const double *m)
{
    static double seen[1 << 16];
    const double scale = TYPE_DOTS / 72.0, edge = 0.25 * (w->low - w->top);
    int count = 0;
    for (int y = (int)((w->top + edge) * scale); y < (int)((w->low - edge) * scale); y++)
        for (int x = (int)(w->left * scale); x < (int)(w->right * scale); x++)
            seen[count++] = luminance_seen(&d->rgb[3 * (y * d->width + x)], m);
    assert_true(count > 20);
    qsort(seen, (size_t)count, sizeof *seen, by_size);
    const double dark = (seen[count * 3 / 4] + 0.05) / (seen[count / 25] + 0.05),
                 light = (seen[count - 1 - count / 25] + 0.05) / (seen[count / 4] + 0.05);
    return fmax(dark, light);
}

/* ---- books ---- */

typedef void PageTest(const Fixture *f, int page, int words);

/* Every colour of the fixture darkened to a part of its light, then its book's chart pages. */
static int for_charts(const FixtureAsk *ask, double part, PageTest *test)
{
    Fixture f;
    Fault fault = {0};
    fixture_init(&f, ask);
    f.job.lists = 0;
    for (int i = 0; i < f.palette.count; i++) {
        Colour *c = &f.palette.colour[i];
        for (int k = 0; k < 3; k++) c->srgb[k] = (uint8_t)(part * c->srgb[k]);
    }
    if (book_write(&f.mural, in_room("book.pdf"), NULL, &fault)) fail_msg("%s", fault.text);
    assert_int_equal(shell("pdftotext -bbox book.pdf words.html"), 0);
    char *text = slurp(in_room("words.html"), NULL);
    int words, charts = 0, page = 0;
    for (const char *at = text; (at = pdf_words(at, word, WORDS, &words));) {
        page++;
        if (!pdf_words_charted(word, words)) continue;
        test(&f, page, words);
        charts++;
    }
    free(text);
    fixture_clear(&f);
    return charts;
}

static void takes_little_ink(const Fixture *f, int page, int words)
{
    (void)f, (void)words;
    const double ink = ink_of(page);
    if (ink > INK_MOST) fail_msg("page %d: %.1f %% of it is ink", page, 100 * ink);
}

static const FixtureAsk noise = {48, 48, 48, 48, 16, BUILD_PLAQUE, 1, 0, FACE_NOISE, PAPER_A4};
static const FixtureAsk bands = {48, 48, 48, 48, 16, BUILD_PLAQUE, 1, 0, FACE_BANDS, PAPER_A4};
static const FixtureAsk relief = {30, 36, 30, 36, 7, BUILD_PLAQUE, 1, 3, FACE_BANDS, PAPER_A4};

static void dark_charts_take_little_ink(void **state)
{
    (void)state;
    assert_true(for_charts(&bands, 0.1, takes_little_ink) > 0);
    assert_int_equal(for_charts(&noise, 0.1, takes_little_ink), 1);
    assert_true(for_charts(&relief, 0.1, takes_little_ink) > 1);
}

/* Each id that stands in a brick of the chart, for every eye. */
static void ids_are_read(const Fixture *f, int page, int words)
{
    Dots d = set_page(page, TYPE_DOTS);
    int read = 0;
    for (int i = 0; i < words; i++) {
        bool id = false;
        if (word[i].left < BAGS) continue;
        for (int c = 0; c < f->palette.count; c++)
            id |= !strcmp(word[i].text, f->palette.colour[c].id);
        for (int e = 0; e < EYES && id; e++) {
            const double contrast = contrast_of(&d, &word[i], eye[e]);
            if (contrast < CONTRAST_LEAST)
                fail_msg("page %d: '%s' has a contrast of %.2f to eye %d", page, word[i].text,
                         contrast, e);
        }
        read += id;
    }
    free(d.rgb);
    assert_true(read > 16);
}

static void ids_are_read_by_every_eye(void **state)
{
    (void)state;
    assert_int_equal(for_charts(&noise, 0.6, ids_are_read), 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(dark_charts_take_little_ink),
        cmocka_unit_test(ids_are_read_by_every_eye),
    };
    return cmocka_run_group_tests(tests, command_setup, command_teardown);
}
