/* Page: what the HTML file holds is the mural, byte for byte the same each time, and a
 * failure leaves no file. How it looks and works is tested in a browser (tests/end_to_end/page). */
#include "book/legend.h"
#include "book/outline.h"
#include "book/page.h"
#include "support/command.h"
#include "support/mural_fixture.h"

#include <setjmp.h>
#include <stdarg.h>

#include <cmocka.h>

#include <errno.h>
#include <fcntl.h>
#include <locale.h>
#include <signal.h>
#include <sys/resource.h>
#include <unistd.h>

static const FixtureAsk asks[] = {
    {40, 30, 16, 15, 20, BUILD_PLAQUE, 1, 0, FACE_BANDS, PAPER_A4},
    {30, 24, 15, 12, 9, BUILD_PLAQUE, 1, 4, FACE_BANDS, PAPER_A4},
    {30, 12, 15, 12, 9, BUILD_WALL, 3, 2, FACE_BANDS, PAPER_A4},
    /* one panel, so that places take two bytes and more, and every palette index */
    {300, 40, 300, 40, 254, BUILD_PLAQUE, 1, 0, FACE_NOISE, PAPER_A4},
};
enum { ASKS = sizeof asks / sizeof *asks };

static char *written(Fixture *f, size_t *size_out)
{
    Fault fault = {0};
    assert_int_equal(page_write(&f->mural, in_room("book.html"), NULL, &fault), STATUS_OK);
    return slurp(in_room("book.html"), size_out);
}

/* The text between a script's opening tag and its end, and its length. */
static const char *block(const char *html, const char *id, size_t *length_out)
{
    char open[40];
    snprintf(open, sizeof open, "id=\"%s\"", id);
    const char *from = strstr(html, open);
    assert_non_null(from);
    from = strchr(from, '>') + 1;
    *length_out = (size_t)(strstr(from, "</script>") - from);
    return from;
}

/* A reader of the format as page.h tells it, written for this test alone. */
typedef struct Reader {
    unsigned char *bytes;
    size_t at, count;
} Reader;

static Reader reader_of(const char *text, size_t length)
{
    static const char digits[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    Reader r = {malloc(length + 1), 0, 0};
    unsigned bits = 0, held = 0;
    for (size_t i = 0; i < length; i++) {
        const char *d = text[i] == '\n' || text[i] == '=' ? NULL : strchr(digits, text[i]);
        if (!d) continue;
        bits = bits << 6 | (unsigned)(d - digits);
        held += 6;
        if (held >= 8) r.bytes[r.count++] = (unsigned char)(bits >> (held -= 8));
    }
    return r;
}

static long next_number(Reader *r)
{
    long value = 0;
    int shift = 0, byte;
    do {
        assert_true(r->at < r->count);
        byte = r->bytes[r->at++];
        value |= (long)(byte & 127) << shift;
        shift += 7;
    } while (byte & 128);
    return value;
}

static void expect_brick(Reader *r, const Fixture *f, size_t i, long *place)
{
    const Brick *b = &f->laid.brick[i];
    const Panel *p = &f->panels.panel[b->panel];
    const int wall = f->mural.solid.build == BUILD_WALL;
    const long kind = next_number(r), colour = next_number(r);
    const Size *size = &f->sizes.size[kind >> 3];
    const int upright = kind >> 2 & 1;
    *place = (i && b[-1].panel == b->panel ? *place : 0) + next_number(r);
    const long vs = wall ? solid_depth(&f->mural.solid) : p->rows;
    const long v = *place / p->columns % vs, layer = *place / p->columns / vs;
    assert_int_equal(kind >> 3, b->size);
    assert_int_equal(kind >> 1 & 1, b->shown);
    assert_int_equal(colour, b->colour);
    assert_int_equal(upright ? size->width : size->length, b->columns);
    assert_int_equal(upright ? size->length : size->width, wall ? b->tiers : b->rows);
    assert_int_equal(*place % p->columns, b->column - p->column);
    assert_int_equal(v, wall ? b->tier : b->row - p->row);
    assert_int_equal(layer, wall ? b->row - p->row : b->tier);
}

/* Source: the mural itself. */
static void holds_every_brick(void **state)
{
    (void)state;
    for (int k = 0; k < ASKS; k++) {
        Fixture f;
        fixture_init(&f, &asks[k]);
        char *html = written(&f, NULL);
        size_t length;
        const char *text = block(html, "bricks", &length);
        Reader r = reader_of(text, length);
        long place = 0;
        for (size_t i = 0; i < f.laid.count; i++) expect_brick(&r, &f, i, &place);
        assert_int_equal(r.at, r.count);
        free(r.bytes);
        free(html);
        fixture_clear(&f);
    }
}

/* Weak and unsupported bricks are marked, bricks beside a joint are not. */
static void marks_what_needs_care(void **state)
{
    (void)state;
    Fixture f;
    fixture_init(&f, &asks[0]);
    f.bond.flaws = 3;
    f.bond.flaw = calloc(3, sizeof *f.bond.flaw);
    f.bond.flaw[0] = (Flaw){.kind = FLAW_WEAK, .brick = 5};
    f.bond.flaw[1] = (Flaw){.kind = FLAW_STRAIGHT_JOINT, .brick = 6};
    f.bond.flaw[2] = (Flaw){.kind = FLAW_UNSUPPORTED, .brick = f.laid.count - 1};
    char *html = written(&f, NULL);
    size_t length;
    const char *text = block(html, "bricks", &length);
    Reader r = reader_of(text, length);
    for (size_t i = 0; i < f.laid.count; i++) {
        const long care = next_number(&r) & 1;
        assert_int_equal(care, i == 5 || i == f.laid.count - 1);
        next_number(&r);
        next_number(&r);
    }
    free(r.bytes);
    free(html);
    fixture_clear(&f);
}

/* Each panel is told how to lift it, what its joints take and where a touch takes something off. */
static void tells_how_to_handle_a_panel(void **state)
{
    (void)state;
    Fixture f;
    fixture_init(&f, &asks[1]);
    PanelHolds *p = &f.holds.panel[1];
    p->at[CASE_HANGING].proof = PROOF_SPRINGS;
    p->at[CASE_HANGING].use = 0.2137;
    p->least_hold_n = 0.169;
    p->least_brick = 0;
    p->least_joint = (WeakJoint){0, HOLD_NOTHING, 1, 7};
    char *html = written(&f, NULL), told[200];
    const Brick *b = &f.laid.brick[0];
    const char *panel = strstr(html, f.panels.panel[1].name);
    const char *end = strstr(panel, f.panels.panel[2].name);
    const char *lift = strstr(panel, "[\"To lift\",\"one person (");
    const char *joints =
        strstr(panel, "[\"Joints\",\"hanging at most 22 % of what its joints hold");
    snprintf(told, sizeof told,
             "[\"Least hold\",\"0.16 N at the brick at column %d, row %d, tier %d; it gives at ",
             b->column + 1, b->row + 1, b->tier + 1);
    const char *hold = strstr(panel, told);
    assert_true(lift && joints && hold && lift < joints && joints < hold && hold < end);
    assert_null(strstr(end, "Least hold\","));
    free(html);
    fixture_clear(&f);
}

/* Twice, and under a locale with a decimal comma where there is one. */
static void writes_the_same_bytes(void **state)
{
    (void)state;
    for (int k = 0; k < ASKS; k++) {
        Fixture f;
        fixture_init(&f, &asks[k]);
        size_t one, two;
        char *first = written(&f, &one);
        setlocale(LC_ALL, "de_DE.UTF-8");
        char *second = written(&f, &two);
        setlocale(LC_ALL, "C");
        assert_int_equal(one, two);
        assert_memory_equal(first, second, one);
        free(first);
        free(second);
        fixture_clear(&f);
    }
}

/* A file name that would be markup, JSON syntax or no UTF-8 stays a name; the job's title takes its
 * place. */
static void names_are_no_markup(void **state)
{
    (void)state;
    Fixture f;
    fixture_init(&f, &asks[0]);
    strcpy(f.reference.file, "</script><b>&\"\\\xff.png");
    char *html = written(&f, NULL);
    size_t length;
    const char *head = block(html, "head", &length);
    static const char told[] =
        "{\"title\":\"\\u003c/script>\\u003cb>&\\u0022\\u005c?.png\",\"build\":\"plaque\"";
    assert_memory_equal(head, told, sizeof told - 1);
    assert_null(strstr(html, "<b>"));
    assert_non_null(strstr(html, "<title>Build book: &#60;/script>&#60;b>&#38;\"\\?.png</title>"));
    free(html);
    strcpy(f.job.title, "Dusk & dawn");
    html = written(&f, NULL);
    assert_non_null(strstr(html, "{\"title\":\"Dusk & dawn\",\"build\""));
    assert_non_null(strstr(html, "<title>Build book: Dusk &#38; dawn</title>"));
    assert_non_null(strstr(html, "<span>Dusk &#38; dawn</span>"));
    free(html);
    fixture_clear(&f);
}

/* The file refers to nothing outside itself: the one address is a namespace's name. */
static void fetches_nothing(void **state)
{
    (void)state;
    Fixture f;
    fixture_init(&f, &asks[1]);
    char *html = written(&f, NULL);
    for (const char *at = html; (at = strstr(at, "://")); at++)
        assert_memory_equal(at - 4, "http://www.w3.org/2000/svg'", 27);
    for (const char *at = html; (at = strstr(at, "url(")); at++)
        assert_memory_equal(at, "url(\"data:", 10);
    static const char *const ways[] = {" src=",  " href=\"h", "@import",
                                       "fetch(", "XMLHttp",   "import("};
    for (size_t i = 0; i < sizeof ways / sizeof *ways; i++) assert_null(strstr(html, ways[i]));
    free(html);
    fixture_clear(&f);
}

/* Each allocation fails in turn: a fault, and no file. */
static void lacks_memory(void **state)
{
    (void)state;
    for (int k = 0; k < 3; k++) {
        Fixture f;
        fixture_init(&f, &asks[k]);
        Status status = STATUS_NO_RESOURCE;
        for (long n = 0; status; n++) {
            Fault fault = {0};
            remove(in_room("book.html"));
            memory_fail_after(n);
            status = page_write(&f.mural, in_room("book.html"), NULL, &fault);
            const bool failed = memory_countdown() < 0;
            memory_fail_after(-1);
            if (!status && failed) fail_msg("allocation %ld failed and nobody said so", n);
            if (!status) break;
            assert_int_equal(status, STATUS_NO_RESOURCE);
            assert_true(*fault.text);
            assert_int_equal(access(in_room("book.html"), F_OK), -1);
        }
        fixture_clear(&f);
    }
}

/* A folder that is not there; a disk that is full (by the limit on the size of files). */
static void lacks_room(void **state)
{
    (void)state;
    Fixture f;
    Fault fault = {0};
    fixture_init(&f, &asks[0]);
    assert_int_equal(page_write(&f.mural, in_room("none/book.html"), NULL, &fault),
                     STATUS_NO_CREATE);
    assert_non_null(strstr(fault.text, "book.html: "));
    struct rlimit before, small;
    getrlimit(RLIMIT_FSIZE, &before);
    small = before;
    small.rlim_cur = 8192;
    signal(SIGXFSZ, SIG_IGN);
    setrlimit(RLIMIT_FSIZE, &small);
    const Status status = page_write(&f.mural, in_room("book.html"), NULL, &fault);
    setrlimit(RLIMIT_FSIZE, &before);
    signal(SIGXFSZ, SIG_DFL);
    assert_int_equal(status, STATUS_IO);
    assert_int_equal(access(in_room("book.html"), F_OK), -1);
    fixture_clear(&f);
}

/* Smallest and largest of the path's numbers. */
static void path_bounds(const char *path, long box[4])
{
    box[0] = box[1] = 1000;
    box[2] = box[3] = -1000;
    int axis = 0;
    for (char *end; *path; path = end) {
        path += strcspn(path, "-0123456789");
        if (!*path) break;
        const long value = strtol(path, &end, 10);
        if (value < box[axis]) box[axis] = value;
        if (value > box[2 + axis]) box[2 + axis] = value;
        axis = !axis;
    }
}

/* Every mark that the key deals is drawn within its square, its ink in the middle; the
 * filled circle is nine tenths as wide as high, since the typeface is condensed to 90 %
 * (DejaVu's own description of the cut). */
static void marks_lie_in_their_square(void **state)
{
    (void)state;
    Outlines *outlines;
    assert_int_equal(outlines_create(&outlines, NULL), STATUS_OK);
    for (int i = 0; i <= legend_marks(); i++) {
        char *path, pair[SYMBOL_MOST];
        snprintf(pair, sizeof pair, "%s%s", legend_mark(0),
                 i < legend_marks() ? "" : legend_mark(1));
        const char *mark = i < legend_marks() ? legend_mark(i) : pair;
        long box[4];
        assert_int_equal(outline_path(outlines, mark, &path, NULL), STATUS_OK);
        assert_int_equal(path[0], 'M');
        path_bounds(path, box);
        for (int axis = 0; axis < 2; axis++) {
            assert_true(box[axis] >= -1 && box[2 + axis] <= 101);
            assert_true(labs(box[axis] + box[2 + axis] - 100) <= 3);
        }
        assert_true(box[2] - box[0] >= 20 || box[3] - box[1] >= 20);
        if (i == 0) assert_true(labs(10 * (box[2] - box[0]) - 9 * (box[3] - box[1])) <= 20);
        memory_free(path);
    }
    outlines_free(outlines);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(holds_every_brick),
        cmocka_unit_test(marks_what_needs_care),
        cmocka_unit_test(tells_how_to_handle_a_panel),
        cmocka_unit_test(writes_the_same_bytes),
        cmocka_unit_test(names_are_no_markup),
        cmocka_unit_test(fetches_nothing),
        cmocka_unit_test(lacks_memory),
        cmocka_unit_test(lacks_room),
        cmocka_unit_test(marks_lie_in_their_square),
    };
    return cmocka_run_group_tests(tests, command_setup, command_teardown);
}
