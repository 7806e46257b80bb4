/* Pages as they look: a few pages of small books are set as grey pictures by poppler's pdftoppm and
 * compared with tests/data/golden/. The tolerance lets versions of poppler draw edges
 * their own way; what has moved, come or gone is told. `make bless` renews the pictures: look at
 * them before they are committed. */
#include "book/book.h"
#include "book/kit.h"
#include "support/command.h"
#include "support/mural_fixture.h"

#include <math.h>
#include <png.h>
#include <setjmp.h>
#include <stdarg.h>

#include <cmocka.h>

enum { DOTS = 40 };     /* an inch */
#define MEAN_OFF 2.0    /* of 255, over the page */
#define DOT_OFF 48      /* a dot that is farther off is another */
#define OTHER_DOTS 0.01 /* share of those */

static const FixtureAsk relief = {24, 16, 12, 16, 8, BUILD_PLAQUE, 1, 2, FACE_BANDS, PAPER_A4};
static const FixtureAsk wall = {20, 6, 20, 6, 6, BUILD_WALL, 3, 1, FACE_BANDS, PAPER_LETTER};
static const FixtureAsk cards = {16, 16, 8, 8, 8, BUILD_PLAQUE, 1, 0, FACE_NOISE, PAPER_A4};

typedef Status Writer(const Mural *mural, const char *path, const Voice *voice, Fault *fault);

static const struct Case {
    const char *name; /* of the picture */
    const FixtureAsk *ask;
    Writer *write;
    const char *told; /* the page is the first that says so */
} cases[] = {
    {"cover", &relief, book_write, "True size"},
    {"reading", &relief, book_write, "How to read a chart"},
    {"bags", &relief, book_write, "Pick before you start"},
    {"tier", &relief, book_write, "Tier 2: rows"},
    {"rows", &relief, book_write, "tier 2 "},
    {"labels", &relief, book_write, "Labels for the panels"},
    {"courses", &wall, book_write, "Course 2"},
    {"card", &cards, kit_write, "In the bag"},
};
enum { CASES = sizeof cases / sizeof *cases };

typedef struct Picture {
    png_image image;
    unsigned char *dot;
} Picture;

static bool read_picture(Picture *p, const char *path)
{
    *p = (Picture){.image = {.version = PNG_IMAGE_VERSION}};
    if (!png_image_begin_read_from_file(&p->image, path)) return false;
    p->image.format = PNG_FORMAT_GRAY;
    p->dot = malloc(PNG_IMAGE_SIZE(p->image));
    return png_image_finish_read(&p->image, NULL, p->dot, 0, NULL);
}

static int at(const Picture *p, int x, int y)
{
    const int width = (int)p->image.width, height = (int)p->image.height;
    return x < 0 || y < 0 || x >= width || y >= height ? 255 : p->dot[y * width + x];
}

/* How far the pictures are apart, one of them moved by dx dots. */
static void compare(const Picture *a, const Picture *b, int dx, double *mean_out, double *other_out)
{
    const int width = (int)a->image.width, height = (int)a->image.height;
    double sum = 0, other = 0;
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++) {
            const int off = abs(at(a, x, y) - at(b, x + dx, y));
            sum += off;
            other += off > DOT_OFF;
        }
    *mean_out = sum / ((double)width * height);
    *other_out = other / ((double)width * height);
}

static bool alike(const Picture *a, const Picture *b, int dx)
{
    double mean, other;
    if (a->image.width != b->image.width || a->image.height != b->image.height) return false;
    compare(a, b, dx, &mean, &other);
    return mean <= MEAN_OFF && other <= OTHER_DOTS;
}

/* Sets the case's page as page.png. */
static void set_page(const struct Case *c)
{
    Fixture f;
    Fault fault = {0};
    fixture_init(&f, c->ask);
    if (c->write(&f.mural, in_room("book.pdf"), NULL, &fault)) fail_msg("%s", fault.text);
    fixture_clear(&f);
    assert_int_equal(
        shell("rm -f page.png; for n in $(seq 1 60); do pdftotext -f $n -l $n book.pdf - | "
              "tr '\\n' ' ' | grep -q '%s' && pdftoppm -gray -png -r %d -f $n -l $n -singlefile "
              "book.pdf page && break; done; [ -f page.png ]",
              c->told, DOTS),
        0);
}

static const char *golden_of(const struct Case *c)
{
    static char path[PATH_MAX];
    snprintf(path, sizeof path, "tests/data/golden/page-%s.png", c->name);
    return path;
}

static void lacking_poppler(void)
{
    if (shell("command -v pdftoppm && command -v pdftotext")) skip();
}

static void pages_look_as_they_did(void **state)
{
    (void)state;
    lacking_poppler();
    for (int i = 0; i < CASES; i++) {
        char here[PATH_MAX];
        Picture now, golden;
        double mean, other;
        set_page(&cases[i]);
        assert_non_null(getcwd(here, sizeof here));
        if (getenv("BLESS"))
            assert_int_equal(shell("cp page.png '%s/%s'", here, golden_of(&cases[i])), 0);
        assert_true(read_picture(&now, in_room("page.png")));
        if (!read_picture(&golden, golden_of(&cases[i])))
            fail_msg("%s: not there; make bless", golden_of(&cases[i]));
        compare(&now, &golden, 0, &mean, &other);
        if (!alike(&now, &golden, 0))
            fail_msg("page '%s': %.2f of 255 off on average, %.2f %% of its dots are others",
                     cases[i].name, mean, 100 * other);
        free(now.dot);
        free(golden.dot);
    }
}

/* The tolerance tells one page from another, and a page from itself moved by a dot. */
static void other_pages_are_told(void **state)
{
    (void)state;
    Picture golden[CASES];
    for (int i = 0; i < CASES; i++) assert_true(read_picture(&golden[i], golden_of(&cases[i])));
    for (int i = 0; i < CASES; i++) {
        assert_true(alike(&golden[i], &golden[i], 0));
        assert_false(alike(&golden[i], &golden[i], 1));
        for (int j = 0; j < i; j++) assert_false(alike(&golden[i], &golden[j], 0));
    }
    for (int i = 0; i < CASES; i++) free(golden[i].dot);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pages_look_as_they_did),
        cmocka_unit_test(other_pages_are_told),
    };
    return cmocka_run_group_tests(tests, command_setup, command_teardown);
}
