/* Every brick is read back from a printed chart, from the lines and the letters of the PDF alone,
 * and held against the bricks that were laid: their places and sizes from the boxes, their colours
 * from the ids in them, their tiers and panels from the heads of the pages.
 *
 * Sources: pdftotext (poppler) for the places of words; qpdf for the pages' marks; ISO 32000-1,
 * annex A, for the operators. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "book/book.h"
#include "book/draw.h"
#include "support/command.h"
#include "support/mural_fixture.h"
#include "support/pdf_words.h"

#include <math.h>

enum { WORDS = 20000, RECTS = 8000, STACK = 8, CHARTS = 16 };

typedef struct Rect {
    double left, right, top, low;
} Rect;

typedef struct ReadPage {
    const Word *word;
    int words;
    Rect *rect;
    int rects;
} ReadPage;

static Fixture fixture;

/* ---- the boxes of a page ---- */

/* Paths that are filled and stroked in the ink and the width of bricks. cairo turns each page's
 * axis downward before its first mark, as words have theirs. */
typedef struct Marks {
    double number[STACK];
    int numbers, corners, first; /* first: of the path in hand */
    double x[4], y[4];
    bool ink, line;
} Marks;

static void take_operator(ReadPage *p, Marks *k, const char *word)
{
    const double *n = k->number;
    if (!strcmp(word, "RG")) k->ink = fabs(n[0] - 0.1) < 1e-3 && fabs(n[2] - 0.12) < 1e-3;
    if (!strcmp(word, "w"))
        k->line = fabs(n[0] - 0.14 / POINT_MM) < 1e-3 || fabs(n[0] - 0.1 / POINT_MM) < 1e-3;
    if (!strcmp(word, "m")) k->corners = 0;
    if ((!strcmp(word, "m") || !strcmp(word, "l")) && k->numbers >= 2 && k->corners < 4) {
        k->x[k->corners] = n[k->numbers - 2];
        k->y[k->corners++] = n[k->numbers - 1];
    }
    if (!strcmp(word, "re") && k->numbers == 4) { /* a path of one box */
        assert_true(p->rects < RECTS);
        p->rect[p->rects++] =
            (Rect){n[0], n[0] + n[2], fmin(n[1], n[1] + n[3]), fmax(n[1], n[1] + n[3])};
    }
    if (!strcmp(word, "h") && k->corners == 4) {
        assert_true(p->rects < RECTS);
        p->rect[p->rects++] = (Rect){fmin(k->x[0], k->x[1]), fmax(k->x[0], k->x[1]),
                                     fmin(k->y[0], k->y[2]), fmax(k->y[0], k->y[2])};
    }
    const bool bricks = !strcmp(word, "B") && k->ink && k->line;
    if (bricks) k->first = p->rects;
    if (bricks || !strcmp(word, "S") || !strcmp(word, "f") || !strcmp(word, "n") ||
        !strcmp(word, "f*") || !strcmp(word, "B") || !strcmp(word, "B*"))
        p->rects = k->first;
    k->numbers = 0;
}

static void read_boxes(ReadPage *p, char *stream)
{
    Marks k = {.numbers = 0};
    p->rects = 0;
    for (char *save, *word = strtok_r(stream, " \n", &save); word;
         word = strtok_r(NULL, " \n", &save)) {
        char *end;
        const double value = strtod(word, &end);
        if (*end)
            take_operator(p, &k, word);
        else if (k.numbers < STACK)
            k.number[k.numbers++] = value;
    }
}

/* ---- bricks ---- */

/* A title, as "Tier 2: rows 1 to 44, columns 41 to 80"; its chart is below it. */
typedef struct ReadChart {
    char panel[48];
    int tier, row, last_row, column, last_column;
    double left, top; /* of the title */
    Rect all;         /* of its boxes */
    int boxes;
} ReadChart;

static bool is_rows(const Word *w) { return !strcmp(w->text, "rows") || !strcmp(w->text, "Rows"); }

/* The titles of a page that has "Panel r1c2 · chart" or "charts" at its head. */
static int read_titles(const ReadPage *p, ReadChart chart[CHARTS])
{
    char panel[48] = "";
    const bool charted = pdf_words_charted(p->word, p->words);
    int charts = 0;
    for (int i = 0; i < 8 && i + 1 < p->words; i++) {
        if (!strcmp(p->word[i].text, "Panel"))
            snprintf(panel, sizeof panel, "%s", p->word[i + 1].text);
    }
    for (int i = 0; i + 7 < p->words && charted; i++) {
        const Word *w = &p->word[i];
        if (!is_rows(w) || strcmp(w[2].text, "to") || strcmp(w[4].text, "columns")) continue;
        const bool tier = i >= 2 && !strcmp(w[-2].text, "Tier");
        const Word *first = tier ? w - 2 : w;
        assert_true(charts < CHARTS);
        chart[charts] = (ReadChart){.tier = tier ? atoi(w[-1].text) : 1,
                                    .row = atoi(w[1].text),
                                    .last_row = atoi(w[3].text),
                                    .column = atoi(w[5].text),
                                    .last_column = atoi(w[7].text),
                                    .left = first->left,
                                    .top = first->top};
        snprintf(chart[charts++].panel, sizeof panel, "%s", panel);
    }
    return charts;
}

/* The page's only title, or the nearest above the box that begins no further right; of titles on
 * one line, the last. */
static ReadChart *chart_of(ReadChart *chart, int charts, const Rect *box)
{
    ReadChart *found = charts == 1 ? chart : NULL;
    for (ReadChart *c = chart; c < chart + charts && charts > 1; c++) {
        if (c->top > box->top || c->left > box->left) continue;
        const bool nearer = !found || c->top > found->top + 1.0;
        if (nearer || (c->top > found->top - 1.0 && c->left > found->left)) found = c;
    }
    assert_non_null(found);
    return found;
}

/* The palette's colour whose id stands in the box's lower left cell; -1: none does. */
static int colour_in(const ReadPage *p, const Rect *box, double cell)
{
    for (int i = 0; i < p->words; i++) {
        const Word *w = &p->word[i];
        const double x = (w->left + w->right) / 2, y = (w->top + w->low) / 2;
        if (x < box->left || x > fmin(box->right, box->left + cell) || y > box->low ||
            y < fmax(box->top, box->low - cell))
            continue;
        for (int c = 0; c < fixture.palette.count; c++)
            if (!strcmp(w->text, fixture.palette.colour[c].id)) return c;
    }
    return -1;
}

static int find_brick(const ReadChart *c, int column, int row, int columns, int rows)
{
    for (size_t i = 0; i < fixture.laid.count; i++) {
        const Brick *b = &fixture.laid.brick[i];
        if (b->column + 1 == column && b->row + 1 == row && b->columns == columns &&
            b->rows == rows && b->tier + 1 == c->tier &&
            !strcmp(fixture.panels.panel[b->panel].name, c->panel))
            return (int)i;
    }
    return -1;
}

static void read_extent(ReadChart *c, const Rect *r)
{
    if (!c->boxes++) c->all = *r;
    c->all.left = fmin(c->all.left, r->left);
    c->all.right = fmax(c->all.right, r->right);
    c->all.top = fmin(c->all.top, r->top);
    c->all.low = fmax(c->all.low, r->low);
}

/* Bricks touch all sides of a chart, so that its cells follow from its boxes. */
static void read_brick(const ReadPage *p, const ReadChart *c, const Rect *r, int *seen)
{
    const double joint = 0.625;
    const double width =
        (c->all.right - c->all.left + 2 * joint) / (c->last_column - c->column + 1);
    const double height = (c->all.low - c->all.top + 2 * joint) / (c->last_row - c->row + 1);
    const int column = (int)lround((r->left - c->all.left) / width),
              row = (int)lround((c->all.low - r->low) / height);
    const int columns = (int)lround((r->right - r->left + 2 * joint) / width),
              rows = (int)lround((r->low - r->top + 2 * joint) / height);
    const int brick = find_brick(c, c->column + column, c->row + row, columns, rows);
    if (brick < 0)
        fail_msg("%s tier %d: no brick of %dx%d at column %d, row %d", c->panel, c->tier, columns,
                 rows, c->column + column, c->row + row);
    seen[brick]++;
    assert_int_equal(colour_in(p, r, 2 * fmin(width, height)), fixture.laid.brick[brick].colour);
}

static void read_charts(const ReadPage *p, ReadChart *chart, int charts, int *seen)
{
    for (int i = 0; i < p->rects; i++)
        read_extent(chart_of(chart, charts, &p->rect[i]), &p->rect[i]);
    for (int i = 0; i < charts; i++)
        if (!chart[i].boxes) fail_msg("%s tier %d: no boxes", chart[i].panel, chart[i].tier);
    for (int i = 0; i < p->rects; i++)
        read_brick(p, chart_of(chart, charts, &p->rect[i]), &p->rect[i], seen);
}

/* The pages' streams are in the order of the pages. */
static char *next_stream(char **at)
{
    char *begin = strstr(*at, "%% Contents for page ");
    if (!begin || !(begin = strstr(begin, "stream\n"))) return NULL;
    char *end = strstr(begin, "\nendstream");
    assert_non_null(end);
    *end = '\0';
    *at = end + 1;
    return begin + 7;
}

/* sheets: those with charts; needs: whether what a panel needs has a page apart from its chart. */
static void read_book(const FixtureAsk *ask, int sheets, bool needs)
{
    static Word word[WORDS];
    static Rect rect[RECTS];
    ReadPage page = {.word = word, .rect = rect};
    ReadChart chart[CHARTS];
    Fault fault = {0};
    fixture_init(&fixture, ask);
    fixture.job.lists = 0;
    int *seen = calloc(fixture.laid.count, sizeof *seen), charted = 0;
    if (book_write(&fixture.mural, in_room("read.pdf"), NULL, &fault)) fail_msg("%s", fault.text);
    assert_int_equal(shell("pdftotext -bbox read.pdf words.html && "
                           "qpdf --qdf --object-streams=disable read.pdf marks.pdf && "
                           "tr -d '\\000' < marks.pdf > marks.txt"),
                     0);
    char *words = slurp(in_room("words.html"), NULL), *marks = slurp(in_room("marks.txt"), NULL);
    const char *at = words;
    char *stream, *next = marks;
    while ((stream = next_stream(&next))) {
        at = pdf_words(at, word, WORDS, &page.words);
        assert_non_null(at);
        const int charts = read_titles(&page, chart);
        if (!charts) continue;
        read_boxes(&page, stream);
        read_charts(&page, chart, charts, seen);
        charted++;
    }
    for (size_t i = 0; i < fixture.laid.count; i++) assert_int_equal(seen[i], 1);
    assert_int_equal(charted, sheets);
    assert_int_equal(strstr(words, ">needs<") != NULL, needs);
    free(words);
    free(marks);
    free(seen);
    fixture_clear(&fixture);
}

static void a_flat_panel_is_read_back(void **state)
{
    (void)state;
    read_book(&(FixtureAsk){48, 48, 48, 48, 9, BUILD_PLAQUE, 1, 0, FACE_NOISE, PAPER_A4}, 1, false);
}

static void a_relief_is_read_back(void **state)
{
    (void)state;
    read_book(&(FixtureAsk){40, 30, 20, 30, 7, BUILD_PLAQUE, 1, 3, FACE_BANDS, PAPER_LETTER}, 4,
              true);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_flat_panel_is_read_back),
        cmocka_unit_test(a_relief_is_read_back),
    };
    return cmocka_run_group_tests(tests, command_setup, command_teardown);
}
