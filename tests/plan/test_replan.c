/* A mural under way, from outside: what stands is followed brick by brick through the
 * files of the plan before and the plan after, which the tests read and count for
 * themselves. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/csv.h"
#include "support/chance.h"
#include "support/replan_room.h"

#include <png.h>

/* ---- the files of a plan, read by the test ---- */

enum { LINES_MOST = 6000, LINE_MOST = 80 };

typedef struct Line { /* of bricks.csv */
    char text[LINE_MOST];
    char panel[16], size[16], colour[8];
    int column, row, tier, columns, rows, tiers;
} Line;

typedef struct Plan {
    size_t count;
    Line line[LINES_MOST]; /* by text */
    int columns, rows;
    png_byte *face; /* RGB, top row first */
} Plan;

static int by_text(const void *a, const void *b)
{
    return strcmp(((const Line *)a)->text, ((const Line *)b)->text);
}

static Plan *read_plan(const char *folder)
{
    char name[64];
    Plan *p = calloc(1, sizeof *p);
    snprintf(name, sizeof name, "%s/bricks.csv", folder);
    char *bytes = slurp(in_room(name), NULL);
    assert_non_null(bytes);
    char *at = strstr(bytes, "\r\n") + 2;
    for (char *end; (end = strstr(at, "\r\n")); at = end + 2) {
        Line *l = &p->line[p->count++];
        assert_true(p->count < LINES_MOST && end - at < LINE_MOST);
        memcpy(l->text, at, (size_t)(end - at));
        assert_int_equal(sscanf(l->text, "%15[^,],%d,%d,%d,%d,%d,%d,%15[^,],%7[^,]", l->panel,
                                &l->column, &l->row, &l->tier, &l->columns, &l->rows, &l->tiers,
                                l->size, l->colour),
                         9);
    }
    free(bytes);
    qsort(p->line, p->count, sizeof *p->line, by_text);
    png_image image = {.version = PNG_IMAGE_VERSION};
    snprintf(name, sizeof name, "%s/cells.png", folder);
    assert_true(png_image_begin_read_from_file(&image, in_room(name)));
    image.format = PNG_FORMAT_RGB;
    p->columns = (int)image.width;
    p->rows = (int)image.height;
    p->face = malloc(PNG_IMAGE_SIZE(image));
    assert_true(png_image_finish_read(&image, NULL, p->face, 0, NULL));
    return p;
}

static void free_plan(Plan *p)
{
    free(p->face);
    free(p);
}

static const png_byte *pixel(const Plan *p, int column, int row)
{
    return p->face + 3 * ((p->rows - row) * p->columns + column - 1);
}

/* Whether the list names the brick: its panel, or its lowest row, or all rows up to one. */
static bool named(const char *list, const Line *brick)
{
    char copy[256];
    snprintf(copy, sizeof copy, "%s", list);
    for (char *item = strtok(copy, ", "); item; item = strtok(NULL, ", ")) {
        int from, to;
        const int read = sscanf(item, "%d-%d", &from, &to);
        if (read < 1
                ? !strcmp(item, brick->panel)
                : brick->row >= (read == 1 ? 1 : from) && brick->row <= (read == 1 ? from : to))
            return true;
    }
    return false;
}

/* ---- what stands stays ---- */

static void stays(const Plan *before, const Plan *after, const char *list)
{
    size_t standing = 0;
    for (size_t i = 0; i < before->count; i++) {
        const Line *b = &before->line[i];
        if (!named(list, b)) continue;
        standing++;
        if (!bsearch(b, after->line, after->count, sizeof *b, by_text))
            fail_msg("%s is no longer there", b->text);
        for (int row = b->row; row < b->row + b->rows; row++)
            for (int column = b->column; column < b->column + b->columns; column++)
                assert_memory_equal(pixel(before, column, row), pixel(after, column, row), 3);
    }
    assert_true(standing > 0);
}

static long count_of(const Plan *p, const char *colour, const char *size, const char *list)
{
    long count = 0;
    for (size_t i = 0; i < p->count; i++)
        count += !strcmp(p->line[i].colour, colour) && !strcmp(p->line[i].size, size) &&
                 (!list || named(list, &p->line[i]));
    return count;
}

static long whole(const Csv *csv, size_t row, const char *column)
{
    return atol(csv_field(csv, row, csv_column(csv, column)));
}

/* difference.csv against the test's own count; parts.csv orders for the rest alone. */
static void adds_up(const char *folder, const Plan *before, const Plan *after, const char *list,
                    bool spares)
{
    char name[64];
    Csv *csv;
    long sum_before = 0, sum_after = 0;
    snprintf(name, sizeof name, "%s/difference.csv", folder);
    assert_int_equal(csv_read(&csv, in_room(name), NULL), 0);
    for (size_t i = 0; i < csv_rows(csv); i++) {
        const char *colour = csv_field(csv, i, 0), *size = csv_field(csv, i, 1);
        assert_int_equal(whole(csv, i, "before"), count_of(before, colour, size, NULL));
        assert_int_equal(whole(csv, i, "after"), count_of(after, colour, size, NULL));
        assert_int_equal(whole(csv, i, "built"), count_of(before, colour, size, list));
        assert_int_equal(whole(csv, i, "before") + whole(csv, i, "change"), whole(csv, i, "after"));
        sum_before += whole(csv, i, "before");
        sum_after += whole(csv, i, "after");
    }
    csv_free(csv);
    assert_int_equal(sum_before, before->count);
    assert_int_equal(sum_after, after->count);
    snprintf(name, sizeof name, "%s/parts.csv", folder);
    assert_int_equal(csv_read(&csv, in_room(name), NULL), 0);
    for (size_t i = 0; i < csv_rows(csv); i++) {
        const char *colour = csv_field(csv, i, 0), *size = csv_field(csv, i, 2);
        const long to_come =
            count_of(after, colour, size, NULL) - count_of(before, colour, size, list);
        const long spare = spares ? (to_come + 9) / 10 : 0;
        assert_int_equal(whole(csv, i, "spare"), spare);
        assert_int_equal(whole(csv, i, "order"), to_come + spare);
    }
    csv_free(csv);
}

static const struct Case {
    const char *plan, *list, *again;
} cases[] = {
    {"", "r1c1,r2c2", "--palette 24.cgats"},
    {"", "1-17", "--palette greys.csv"},
    {"", " 30-30 , 5-9, r1c2", "--dither none --spare 10"},
    {"", "12", "--palette greys.csv"},
    {"", "1-40", "--palette greys.csv"}, /* all of it */
    {"--dither none", "1-21", "--palette 24.cgats"},
    {"--dither floyd-steinberg", "10-25", "--palette greys.csv"},
    {"--dither blue-noise", "r2c1", "--palette 24.cgats"},
    {"--tone fit --favour cost --rate 30", "1-24,25", "--palette 24.cgats"},
    {"--build wall", "1-10,21-25", "--palette 24.cgats"},
    {"--build wall --thickness 3", "1-12,r2c2", "--palette greys.csv --spare 10"},
    {"--relief luminance --steps 4", "r1c1,r2c2", "--palette 24.cgats"},
    {"--relief luminance --steps 3", "1-20", "--dither none"},
    {"--build wall --thickness 2 --relief luminance --steps 4", "1-13", "--palette 24.cgats"},
    {"--build wall --relief luminance --steps 2", "r1c2", "--palette greys.csv"},
};

/* A deep relief in a wall can be left with a brick on nothing by new colours; it is said then. */
static bool may_hang(const struct Case *c)
{
    return strstr(c->plan, "--build wall") && strstr(c->plan, "--relief");
}

static void what_stands_stays(void **state)
{
    (void)state;
    int planned = 0;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const struct Case *c = &cases[i];
        if (!i || strcmp(c->plan, cases[i - 1].plan) != 0)
            planned = shell("rowlock plan coffee.png --columns 48 --rows 40 --panel 24x24 "
                            "--book no --quote no --out before %s",
                            c->plan);
        assert_true(planned <= 1);
        const int code =
            shell("rowlock replan before --built '%s' %s --out after", c->list, c->again);
        const bool said = code == 1 && strstr(command_said, "the brick rests on nothing");
        if (code > planned && !(may_hang(c) && said))
            fail_msg("%s: %d %s", c->plan, code, command_said);
        assert_non_null(strstr(command_said, "bricks stand"));
        assert_int_equal(shell("rowlock check after"), code);
        Plan *before = read_plan("before"), *after = read_plan("after");
        stays(before, after, c->list);
        adds_up("after", before, after, c->list, strstr(c->again, "spare"));
        free_plan(before);
        free_plan(after);
    }
}

/* ---- what a page told stays ---- */

/* A page's progress is lines of bricks.csv. The first bricks in building order are told, in the
 * midst of a row, of a tier or of a course; each stays as it was, but for those of a course that is
 * not whole, of which it is said how many come off. Nothing else is asked to stay. */
static void what_is_told_stays(void **state)
{
    (void)state;
    static const struct Told {
        const char *plan;
        int bricks, stay; /* -1: all that are told */
    } told[] = {
        {"", 33, -1},
        {"--relief luminance --steps 3", 150, -1},
        {"--relief luminance --steps 3", 300, -1},
        {"--build wall --thickness 2", 40, 0},
    };
    for (size_t k = 0; k < sizeof told / sizeof *told; k++) {
        const struct Told *t = &told[k];
        assert_true(shell("rowlock plan coffee.png --columns 32 --rows 24 --panel 16x24 --book no "
                          "--quote no --out before %s",
                          t->plan) <= 1);
        assert_int_equal(shell("head -n %d before/bricks.csv > told.csv", t->bricks + 1), 0);
        assert_true(
            shell("rowlock replan before --built told.csv --palette greys.csv --out after") <= 1);
        int off = 0;
        const char *said = strstr(command_said, "built: ");
        if (said) assert_int_equal(sscanf(said, "built: %d bricks", &off), 1);
        assert_true(t->stay < 0 ? off == 0 : off > 0 && off < t->bricks);
        assert_true(shell("rowlock check after") <= 1);
        assert_int_equal(
            shell("head -n %d told.csv | tail -n +2 | sort > want; sort after/bricks.csv "
                  "| comm -23 want - | wc -l | grep -qx 0 && grep -q '\"bricks\": %d' "
                  "after/plan.json",
                  t->bricks - off + 1, t->bricks - off),
            0);
    }
}

/* ---- what stands is marked ---- */

/* The test's own count of what the page says stands, brick by brick against the list. The
 * bricks of bricks.csv are in the order of the page's. */
static void page_tells(const char *folder, const char *list)
{
    char name[64];
    snprintf(name, sizeof name, "%s/book.html", folder);
    char *page = slurp(in_room(name), NULL);
    snprintf(name, sizeof name, "%s/bricks.csv", folder);
    char *bricks = slurp(in_room(name), NULL);
    char *at = strstr(page, "\"standing\":["), *line = strstr(bricks, "\r\n") + 2;
    assert_non_null(at);
    size_t marked = 0;
    for (at += strlen("\"standing\":["); *at == '"' || *at == ',';) {
        bool stands = false;
        at += *at == ',' ? 2 : 1;
        for (; *at != '"'; at += *at == ',', stands = !stands)
            for (long n = strtol(at, &at, 10); n > 0; n--, line = strstr(line, "\r\n") + 2) {
                Line b = {0};
                assert_int_equal(sscanf(line, "%15[^,],%d,%d", b.panel, &b.column, &b.row), 3);
                assert_int_equal(named(list, &b), stands);
                marked += stands;
            }
        at++;
    }
    assert_true(marked > 0);
    assert_int_equal(*line, 0);
    free(page);
    free(bricks);
}

static void what_stands_is_marked(void **state)
{
    (void)state;
    static const char *const build[] = {"", "--build wall --thickness 2"};
    for (size_t i = 0; i < sizeof build / sizeof *build; i++) {
        assert_int_equal(shell("rowlock plan coffee.png --columns 48 --rows 40 --panel 24x24 "
                               "--book no --quote no --out before %s",
                               build[i]),
                         0);
        assert_int_equal(shell("rowlock replan before --built r1c1,1-10 --dither none --book yes "
                               "--lists yes --out after"),
                         0);
        page_tells("after", "r1c1,1-10");
        assert_int_equal(shell("rowlock check after"), 0);
        assert_int_equal(shell("cp -r after forged && sed -i "
                               "'s/\"standing\":\\[\"0,/\"standing\":[\"1,/' forged/book.html && "
                               "rowlock check forged; code=$?; rm -r forged; exit $code"),
                         1);
        assert_non_null(strstr(command_said, "standing: is not what stands by plan.json"));
        /* On paper: no page of what stands wholly, one ticked line for rows that do. */
        assert_int_equal(shell("pdftotext -layout after/book.pdf -"), 0);
        assert_null(strstr(command_said, "Panel r1c1 "));
        assert_non_null(strstr(command_said, "Panel r1c2 "));
        assert_non_null(strstr(command_said, "r1c1 stands"));
        const char *line = strstr(command_said, "rows 1 to 10 ");
        int ticked = 0;
        assert_non_null(line);
        assert_int_equal(sscanf(line, "rows 1 to 10 %d bricks stand already", &ticked), 1);
        Plan *before = read_plan("before");
        for (size_t b = 0; b < before->count; b++)
            ticked -= before->line[b].row <= 10 && !strcmp(before->line[b].panel, "r1c2");
        assert_int_equal(ticked, 0);
        free_plan(before);
    }
}

/* Where every cell is chosen by itself and nothing has changed, nothing does. */
static void no_change_changes_nothing(void **state)
{
    (void)state;
    static const char *const dither[] = {"none", "blue-noise"};
    for (size_t i = 0; i < 2; i++) {
        assert_int_equal(shell("rowlock plan coffee.png --columns 40 --dither %s --book no "
                               "--out same && rowlock replan same --built 1-9 --out same-2 && "
                               "cmp same/cells.png same-2/cells.png",
                               dither[i]),
                         0);
    }
}

/* Colours that are no longer in the palette stay where they stand and come nowhere else,
 * also when the plan is planned again after that. */
static void colours_of_the_past_stay_behind(void **state)
{
    (void)state;
    char line[128] = "";
    assert_int_equal(shell("rowlock plan coffee.png --columns 48 --out old --book no --quote no && "
                           "rowlock replan old --built 1-10 --palette greys.csv --out grey && "
                           "rowlock replan grey --built 1-16 --out grey-2 && rowlock check grey-2"),
                     0);
    char *greys = slurp(in_room("greys.csv"), NULL);
    Plan *before = read_plan("old"), *after = read_plan("grey-2");
    size_t of_the_past = 0;
    for (size_t i = 0; i < after->count; i++) {
        snprintf(line, sizeof line, "\n%s,", after->line[i].colour);
        if (strstr(greys, line)) continue;
        of_the_past++;
        if (!named("1-10", &after->line[i])) fail_msg("%s is new", after->line[i].text);
    }
    assert_true(of_the_past > 20);
    stays(before, after, "1-10");
    free(greys);
    free_plan(before);
    free_plan(after);
}

/* An id may stay and what it stands for change: what stands is then seen otherwise. */
static void other_values_are_said(void **state)
{
    (void)state;
    assert_int_equal(
        shell("printf 'id,name,hex\\nA,a,#000000\\nB,b,#808080\\nC,c,#ffffff\\n' > "
              "was.csv; sed s/808080/a08060/ was.csv > now.csv; "
              "rowlock plan coffee.png --columns 24 --palette was.csv --book no --quote no "
              "--out old && "
              "rowlock replan old --built 1-12 --palette was.csv --out same"),
        0);
    assert_null(strstr(command_said, "other values"));
    assert_int_equal(shell("rowlock replan old --built 1-12 --palette now.csv --out other"), 0);
    assert_non_null(strstr(command_said, "1 of the colours that stand have other values in it than "
                                         "they were planned with, B; "));
}

/* ---- the shelf ---- */

/* A shelf that holds somewhat more cells than are left, in colours at random. */
static void stock_shelf(unsigned *state, long units)
{
    FILE *file = fopen(in_room("shelf.csv"), "w");
    static const char *const size[] = {"1x1", "1x2", "2x2", "2x4"};
    static const int area[] = {1, 2, 4, 8};
    fprintf(file, "colour,size,quantity,price\n");
    char *palette = slurp(in_room("12.csv"), NULL), *at = strchr(palette, '\n') + 1;
    for (char *end; (end = strchr(at, '\n')); at = end + 1)
        for (int i = 0; i < 4; i++) {
            const long most = units / 16 / area[i];
            fprintf(file, "%.*s,%s,%ld,\n", (int)strcspn(at, ","), at, size[i],
                    (long)chance(state) % (2 * most + 1));
        }
    free(palette);
    fclose(file);
}

static long on_shelf(const Csv *csv, const char *colour)
{
    long units = 0;
    for (size_t i = 0; i < csv_rows(csv); i++) {
        int a, b;
        sscanf(csv_field(csv, i, 1), "%dx%d", &a, &b);
        if (!strcmp(csv_field(csv, i, 0), colour)) units += whole(csv, i, "quantity") * a * b;
    }
    return units;
}

static void the_rest_lives_off_the_shelf(void **state)
{
    (void)state;
    static const char *const mode[] = {
        "", "--dither none", "--dither floyd-steinberg", "--dither blue-noise", "", ""};
    unsigned random = 7;
    int planned = 0;
    for (size_t i = 0; i < sizeof mode / sizeof *mode; i++) {
        stock_shelf(&random, 40 * 17);
        assert_int_equal(
            shell("rowlock plan coffee.png --columns 40 --palette 12.csv --book no --quote no "
                  "--out before %s",
                  mode[i]),
            0);
        const int code = shell("rowlock replan before --built 1-10 --stock shelf.csv --stock-only "
                               "--out after && rowlock check after");
        if (code == 65) continue; /* too little on it */
        assert_int_equal(code, 0);
        planned++;
        Plan *before = read_plan("before"), *after = read_plan("after");
        stays(before, after, "1-10");
        adds_up("after", before, after, "1-10", false);
        Csv *shelf;
        assert_int_equal(csv_read(&shelf, in_room("shelf.csv"), NULL), 0);
        for (size_t n = 0; n < after->count; n++) {
            long taken = 0;
            const char *colour = after->line[n].colour;
            for (size_t k = 0; k < after->count; k++) {
                const Line *l = &after->line[k];
                if (strcmp(l->colour, colour) != 0) continue;
                if (bsearch(l, before->line, before->count, sizeof *l, by_text) && named("1-10", l))
                    continue;
                taken += l->columns * l->rows;
            }
            assert_true(taken <= on_shelf(shelf, colour));
        }
        csv_free(shelf);
        free_plan(before);
        free_plan(after);
    }
    assert_true(planned >= 3);
}

/* ---- one result, one place ---- */

static void the_same_bytes_for_any_threads(void **state)
{
    (void)state;
    static const char *const build[] = {
        "--panel 14x14", "--panel 14x14 --build wall --thickness 2",
        "--panel 14x14 --panel-mass 200kg --build wall --thickness 4 --hollow 1",
        "--kit 10x10 --kit-even"};
    for (size_t i = 0; i < sizeof build / sizeof *build; i++) {
        assert_int_equal(
            shell("rowlock plan coffee.png --columns 40 --book no --quote no --out before %s",
                  build[i]),
            0);
        for (int threads = 1; threads <= 3; threads += 2)
            assert_int_equal(shell("rowlock replan before --built 1-9,r2c2 --palette 24.cgats "
                                   "--threads %d --out t%d",
                                   threads, threads),
                             0);
        assert_int_equal(shell("diff -r t1 t3"), 0);
    }
}

static void the_earlier_plan_may_give_way(void **state)
{
    (void)state;
    assert_int_equal(
        shell("rowlock plan coffee.png --columns 30 --book no --quote no --out here && "
              "cp -r here there && echo mine > here/notes.txt && "
              "rowlock replan there --built 1-8 --dither none --out there-2 && "
              "rowlock replan here --built 1-8 --dither none --out here && "
              "rowlock check here && cat here/notes.txt && rm here/notes.txt && "
              "diff -r here there-2"),
        0);
    assert_int_equal(
        shell("rowlock plan coffee.png --columns 30 --book no --quote no --out here && "
              "test ! -e here/difference.csv"),
        0);
}

static void the_picture_may_have_moved(void **state)
{
    (void)state;
    assert_int_equal(
        shell("cp coffee.png cup.png; rowlock plan cup.png --columns 30 --book no --quote no "
              "--out moved; mv cup.png mug.png; rm -rf out"),
        0);
    assert_int_equal(shell("rowlock replan moved --built 1-8 --out out"), 66);
    assert_non_null(strstr(command_said, "--reference"));
    assert_int_equal(shell("rowlock replan moved --built 1-8 --out out --reference 12.csv"), 65);
    assert_int_equal(shell("rowlock replan moved other.png --built 1-8 --out out"), 65);
    assert_non_null(strstr(command_said, "not the picture"));
    assert_int_equal(shell("test ! -e out"), 0);
    assert_int_equal(shell("rowlock replan moved mug.png --built 1-8 --out out"), 0);
    assert_int_equal(shell("rowlock replan moved --reference mug.png --built 1-8 --out out"), 0);
    assert_int_equal(
        shell("rowlock plan - --columns 30 --book no --quote no --out piped < mug.png && "
              "rowlock replan piped mug.png --built 1-8 --out out && "
              "rowlock replan piped - --built 1-8 --out out < mug.png"),
        0);
    assert_int_equal(shell("rowlock replan piped --built 1-8 --out out < mug.png"), 66);
}

/* Cells that the user painted stay, as long as their colours can be had. */
static void painted_cells_stay(void **state)
{
    (void)state;
    assert_int_equal(
        shell("rowlock plan coffee.png --columns 30 --dither none --book no --quote no --out a "
              "&& rowlock plan coffee.png --columns 30 --cells a/cells.png --book no --quote no "
              "--out b && mv a/cells.png gone.png && "
              "rowlock replan b --built 1-5 --out c && cmp c/cells.png gone.png && "
              "rowlock check c && ! grep -q 'chosen anew' said"),
        0);
    assert_int_equal(shell("rowlock replan b --built 1-5 --palette greys.csv --out c"), 0);
    assert_non_null(strstr(command_said, "chosen anew"));
    assert_int_equal(
        shell("rowlock plan coffee.png --columns 30 --dither floyd-steinberg "
              "--book no --quote no --out d && rowlock replan d --built 1-5 --cells gone.png "
              "--out c && rowlock check c"),
        0);
    assert_non_null(strstr(command_said, "cells stand already in another colour"));
}

/* A colour that is in what stands alone may be read from an edited cells.png, where it
 * stands, and is asked for nowhere else. */
static void painted_cells_take_what_is_to_be_had(void **state)
{
    (void)state;
    assert_int_equal(shell("printf 'id,name,hex\\nW,white,#f0f0f0\\n' > white.csv && "
                           "printf 'id,name,hex\\nK,black,#101010\\n' > black.csv && "
                           "printf 'colour,size,quantity,price\\nW,1x1,9000,1\\nK,1x1,9000,1\\n' "
                           "> shelf.csv && rowlock plan coffee.png --columns 30 --palette "
                           "white.csv --book no --quote no --out a"),
                     0);
    assert_int_equal(shell("rowlock replan a --built 1-5 --palette black.csv --cells a/cells.png "
                           "--book no --quote no --out b"),
                     65);
    assert_non_null(strstr(command_said, "colour W is in what stands alone"));
    assert_int_equal(shell("rowlock replan a --built 1-5 --palette black.csv --cells a/cells.png "
                           "--stock shelf.csv --stock-only --book no --quote no --out b"),
                     65);
    assert_int_equal(
        shell("rowlock replan a --built 1-5 --palette black.csv --book no --quote no --out b && "
              "rowlock replan a --built 1-5 --palette black.csv --cells b/cells.png "
              "--stock shelf.csv --stock-only --book no --quote no --out c && rowlock check c"),
        0);
}

/* ---- hollow cores and even cards ---- */

enum { TIERS_MOST = 64 };

static size_t unit_of(const Plan *p, int column, int row, int tier)
{
    return (size_t)((tier * p->rows + row) * p->columns + column);
}

/* Which units bricks fill, or, given those of another plan, how many more these do: none of
 * them in what stands, and no fewer anywhere. */
static long fill_units(const Plan *p, const char *list, const char *before, char *filled)
{
    long more = 0;
    for (size_t i = 0; i < p->count; i++) {
        const Line *b = &p->line[i];
        for (int tier = b->tier - 1; tier < b->tier - 1 + b->tiers; tier++)
            for (int row = b->row - 1; row < b->row - 1 + b->rows; row++)
                for (int column = b->column - 1; column < b->column - 1 + b->columns; column++) {
                    const size_t unit = unit_of(p, column, row, tier);
                    filled[unit] = 1;
                    if (!before || before[unit]) continue;
                    more++;
                    if (named(list, b)) fail_msg("%s is in a pocket of what stands", b->text);
                }
    }
    for (size_t i = 0; before && i < unit_of(p, 0, 0, TIERS_MOST); i++)
        assert_true(filled[i] >= before[i]);
    return more;
}

/* How many units of the earlier plan's pockets are filled. */
static long pockets_stay(const Plan *before, const Plan *after, const char *list)
{
    const size_t units = unit_of(before, 0, 0, TIERS_MOST);
    char *was = calloc(units, 1), *is = calloc(units, 1);
    fill_units(before, NULL, NULL, was);
    const long more = fill_units(after, list, was, is);
    free(was);
    free(is);
    return more;
}

/* Replans, and follows what stands into the new plan. */
static long goes_on(const char *from, const char *to, const char *list, const char *again)
{
    if (shell("rowlock replan %s --built '%s' %s --out %s && rowlock check %s", from, list, again,
              to, to))
        fail_msg("%s, built %s, %s: %s", from, list, again, command_said);
    assert_int_equal(shell("cut -d, -f1-5 %s/panels.csv > was; cut -d, -f1-5 %s/panels.csv | cmp - "
                           "was",
                           from, to),
                     0);
    Plan *before = read_plan(from), *after = read_plan(to);
    stays(before, after, list);
    adds_up(to, before, after, list, false);
    const long filled = pockets_stay(before, after, list);
    free_plan(before);
    free_plan(after);
    return filled;
}

/* Every brick that stands is in the new plan's bricks.csv as it was, nothing is laid into the
 * pockets of what stands, the panels are cut as before and `check` holds the rest; so too when
 * the new plan is planned again. Where all stands, nothing changes. */
static void pockets_and_cards_stay(void **state)
{
    (void)state;
    static const struct {
        const char *plan, *said, *list, *more;
    } list[] = {
#define HOLLOW "--panel 20x16 --panel-mass 200kg --hollow 1 "
        {HOLLOW "--build wall --thickness 4", "are left out", "r1c1,r2c2", "r1c1,r1c2,r2c2"},
        {HOLLOW "--build wall --thickness 4", "are left out", "1-4", "1-9"},
        {HOLLOW "--build wall --thickness 6 --relief luminance --steps 9", "are left out",
         "1-9,r2c1", "1-13,r2c1"},
        {HOLLOW "--relief luminance --steps 20", "are left out", "r1c1", "r1c1,r2c2"},
        {"--kit 10x10 --kit-even", "one size would", "r1c1,r2c2", "r1c1,r2c2,r3c1,r3c2"},
        {"--kit 10x10 --kit-even", "one size would", "1-12", "1-20"},
        {"--kit 20x16 --kit-even --panel-mass 200kg --build wall --thickness 4 --hollow 1",
         "are left out", "r1c1,1-3", "r1c1,1-5"},
    };
    long filled = 0;
    for (size_t i = 0; i < sizeof list / sizeof *list; i++) {
        if (!i || strcmp(list[i].plan, list[i - 1].plan) != 0) {
            assert_int_equal(shell("rowlock plan coffee.png --columns 40 --rows 32 --book no "
                                   "--quote no --out w1 %s && rowlock check w1",
                                   list[i].plan),
                             0);
            assert_non_null(strstr(command_said, list[i].said));
        }
        filled += goes_on("w1", "w2", list[i].list, "--palette greys.csv");
        filled += goes_on("w2", "w3", list[i].more, "--palette 24.cgats --dither none");
        goes_on("w3", "w4", "1-32", "--palette greys.csv");
        assert_int_equal(shell("cmp w3/bricks.csv w4/bricks.csv"), 0);
    }
    print_message("%ld units of pockets were filled\n", filled);
    assert_true(filled > 0);
}

/* A shelf without colours that only what stands has; the solid that the core is compared with
 * has these too. */
static void the_rest_of_a_core_lives_off_the_shelf(void **state)
{
    (void)state;
    assert_int_equal(shell("awk -F, 'BEGIN { print \"colour,size,quantity,price\" } NR > 1 { print "
                           "$1 \",1x1,3000,\\n\" $1 \",2x4,90,\" }' greys.csv > shelf.csv; "
                           "rowlock plan coffee.png --columns 40 --rows 32 --palette 12.csv "
                           "--relief luminance --steps 12 --book no --quote no --out w1 " HOLLOW),
                     0);
    goes_on("w1", "w2", "r1c1", "--palette greys.csv");
    goes_on("w2", "w3", "r1c1,r1c2", "--stock shelf.csv --stock-only");
}

/* What a core saves is told against the whole mural laid solid, as by the plan before. */
static void what_a_core_saves_is_told(void **state)
{
    (void)state;
    assert_int_equal(
        shell("rowlock plan coffee.png --columns 40 --rows 32 --book no --quote no --dither none "
              "--out w1 --build wall --thickness 4 " HOLLOW
              "&& rowlock replan w1 --built 1-9 --out w2 && rowlock replan w1 "
              "--built 1-32 --out w3 && for w in w1 w3; do tr -d '\\n' < $w/plan.json "
              "| grep -o '\"hollow\": *{[^}]*}'; done | uniq -d | wc -l"),
        0);
    assert_string_equal(strrchr(command_said, '\n') - 1, "1\n");
    assert_int_equal(shell("for w in w1 w2; do grep -A3 '\"hollow\": *{' $w/plan.json | grep "
                           "units; done | uniq -d | wc -l"),
                     0);
    assert_string_equal(command_said, "1\n");
}

/* The cards of a kit tell what they ask now, and that they may be heavier than was asked. */
static void kept_cards_are_told(void **state)
{
    (void)state;
    assert_int_equal(
        shell("rowlock plan coffee.png --columns 30 --book no --quote no --kit 10x10 --kit-even "
              "--bricks light.csv --out w1"),
        0);
    assert_int_equal(shell("rowlock replan w1 --built r1c1 --out w2 && "
                           "pdftotext -f 1 -l 1 w2/kit.pdf - | tr '\\n' ' '"),
                     0);
    assert_non_null(strstr(command_said, "they stay as they were cut"));
    assert_non_null(strstr(command_said, "Difficulty = bricks + 4 × colours"));
    assert_null(strstr(command_said, "of one size"));
    assert_null(strstr(command_said, "may weigh more"));
    assert_int_equal(
        shell("rowlock replan w1 --built r1c1 --bricks heavy.csv --out w3 || [ $? = 1 ]"), 0);
    assert_non_null(strstr(command_said, "may weigh more than --panel-mass"));
}

/* Where it was asked for in vain, the plan is like any. */
static void what_counts_for_nothing_is_in_no_ones_way(void **state)
{
    (void)state;
    static const char *const with[] = {"--hollow 1",
                                       "--hollow 1 --build wall",
                                       "--hollow 9 --relief luminance",
                                       "--kit-even",
                                       "--kit 6x6",
                                       "--kit 6x6 --kit-even --panel-mass 20g"};
    for (size_t i = 0; i < sizeof with / sizeof *with; i++) {
        assert_int_equal(
            shell("rowlock plan coffee.png --columns 20 --book no --quote no --out whole %s "
                  "|| [ $? = 1 ]",
                  with[i]),
            0);
        assert_int_equal(
            shell("rowlock replan whole --built r1c1 --book no --quote no --out part && "
                  "rowlock check part"),
            0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_stands_stays),
        cmocka_unit_test(what_is_told_stays),
        cmocka_unit_test(what_stands_is_marked),
        cmocka_unit_test(no_change_changes_nothing),
        cmocka_unit_test(colours_of_the_past_stay_behind),
        cmocka_unit_test(other_values_are_said),
        cmocka_unit_test(the_rest_lives_off_the_shelf),
        cmocka_unit_test(the_same_bytes_for_any_threads),
        cmocka_unit_test(the_earlier_plan_may_give_way),
        cmocka_unit_test(the_picture_may_have_moved),
        cmocka_unit_test(painted_cells_stay),
        cmocka_unit_test(painted_cells_take_what_is_to_be_had),
        cmocka_unit_test(pockets_and_cards_stay),
        cmocka_unit_test(the_rest_of_a_core_lives_off_the_shelf),
        cmocka_unit_test(what_a_core_saves_is_told),
        cmocka_unit_test(kept_cards_are_told),
        cmocka_unit_test(what_counts_for_nothing_is_in_no_ones_way),
    };
    return cmocka_run_group_tests(tests, replan_setup, command_teardown);
}
