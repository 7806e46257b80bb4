/* Cards that ask alike: the cut against every cut of a small mural (brute force); what the
 * command makes of a picture with a plain and a busy half, read back from its files. */
#include "base/memory.h"
#include "bricks/cards.h"
#include "support/command.h"
#include "support/mural_fixture.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>

#include <cmocka.h>

static Fixture fixture;

static void begin(int columns, int rows, int colours)
{
    fixture_init(&fixture, &(FixtureAsk){columns, rows, columns, rows, colours, BUILD_PLAQUE, 1, 0,
                                         FACE_NOISE, PAPER_A4});
}

/* What the cells [x0, x1) x [y0, y1) ask, squared and off the target, by looking at every
 * brick. */
static double off(int x0, int x1, int y0, int y1, double target)
{
    double bricks = 0;
    bool seen[PALETTE_MOST] = {false};
    int colours = 0;
    for (size_t i = 0; i < fixture.laid.count; i++) {
        const Brick *b = &fixture.laid.brick[i];
        for (int y = b->row; y < b->row + b->rows; y++)
            for (int x = b->column; x < b->column + b->columns; x++) {
                if (x < x0 || x >= x1 || y < y0 || y >= y1) continue;
                bricks += 1.0 / (b->columns * b->rows);
                colours += !seen[b->colour];
                seen[b->colour] = true;
            }
    }
    const double part = (bricks + CARD_COLOUR * colours) / target - 1;
    return part * part;
}

/* The least over every cut of a band: no tables, only recursion. */
static double best_cards(int x0, int y0, int y1, const CardLimits *l)
{
    if (x0 == fixture.grid.columns) return 0;
    double best = INFINITY;
    for (int x1 = x0 + l->least_columns; x1 <= fixture.grid.columns && x1 - x0 <= l->most_columns;
         x1++)
        if ((x1 - x0) * (y1 - y0) <= l->units)
            best = fmin(best, off(x0, x1, y0, y1, l->target) + best_cards(x1, y0, y1, l));
    return best;
}

static double best_bands(int y0, const CardLimits *l)
{
    if (y0 == fixture.grid.rows) return 0;
    double best = INFINITY;
    for (int y1 = y0 + l->least_rows; y1 <= fixture.grid.rows && y1 - y0 <= l->most_rows; y1++)
        best = fmin(best, best_cards(0, y0, y1, l) + best_bands(y1, l));
    return best;
}

/* Every cell is in one card, the one that panels_at tells; each card is hung once. */
static void assert_tiles(const Panels *p)
{
    const Grid *grid = &fixture.grid;
    int *cards = calloc((size_t)grid->columns * (size_t)grid->rows, sizeof *cards);
    int *hung = calloc((size_t)p->count, sizeof *hung);
    for (int i = 0; i < p->count; i++) {
        const Panel *at = &p->panel[i];
        for (int y = at->row; y < at->row + at->rows; y++)
            for (int x = at->column; x < at->column + at->columns; x++) {
                assert_int_equal(cards[y * grid->columns + x]++, 0);
                assert_int_equal(panels_at(p, x, y), i);
            }
        hung[panels_hung(p, i)]++;
    }
    for (int i = 0; i < grid->columns * grid->rows; i++) assert_int_equal(cards[i], 1);
    for (int i = 0; i < p->count; i++) assert_int_equal(hung[i], 1);
    free(cards);
    free(hung);
}

static void the_cut_is_the_best_of_all(void **state)
{
    (void)state;
    static const int sizes[][2] = {{9, 7}, {12, 4}, {5, 9}, {2, 2}};
    for (int k = 0; k < 4; k++) {
        begin(sizes[k][0], sizes[k][1], 3 + k);
        for (int most = 3; most <= 5; most++) {
            const CardLimits limits = {2, 2, most, most + 1, most == 4 ? 9 : 1000, 20};
            Panels panels;
            assert_int_equal(cards_cut(&panels, &fixture.mural.solid, &fixture.laid, &limits, NULL),
                             STATUS_OK);
            const double best = best_bands(0, &limits);
            assert_int_equal(panels.count > 0, isfinite(best));
            double sum = 0;
            for (int i = 0; i < panels.count; i++) {
                const Panel *p = &panels.panel[i];
                assert_true(p->columns <= most && p->rows <= most + 1);
                sum += off(p->column, p->column + p->columns, p->row, p->row + p->rows, 20);
            }
            if (panels.count) {
                assert_tiles(&panels);
                assert_true(fabs(sum - best) < 1e-9);
            }
            panels_clear(&panels);
        }
        fixture_clear(&fixture);
    }
}

static void spread_is_counted(void **state)
{
    (void)state;
    fixture_init(&fixture,
                 &(FixtureAsk){20, 12, 5, 4, 6, BUILD_PLAQUE, 1, 2, FACE_BANDS, PAPER_A4});
    double least = INFINITY, most = 0, sum = 0;
    for (int panel = 0; panel < fixture.panels.count; panel++) {
        bool seen[PALETTE_MOST] = {false};
        double asks = 0;
        for (size_t i = 0; i < fixture.laid.count; i++) {
            const Brick *b = &fixture.laid.brick[i];
            if (b->panel != panel) continue;
            asks += 1 + (seen[b->colour] ? 0 : CARD_COLOUR);
            seen[b->colour] = true;
        }
        least = fmin(least, asks);
        most = fmax(most, asks);
        sum += asks;
    }
    const CardSpread spread = cards_spread(&fixture.panels, &fixture.laid);
    assert_int_equal(spread.cards, fixture.panels.count);
    assert_true(spread.least == least && spread.most == most);
    assert_true(fabs(spread.mean - sum / fixture.panels.count) < 1e-9);
    assert_true(spread.deviation > 0);
    fixture_clear(&fixture);
}

static void lacks_memory(void **state)
{
    (void)state;
    begin(8, 6, 4);
    Status status = STATUS_NO_RESOURCE;
    for (long n = 0; status; n++) {
        Panels panels;
        Fault fault = {0};
        const CardLimits limits = {2, 2, 5, 5, 1000, 20};
        memory_fail_after(n);
        status = cards_cut(&panels, &fixture.mural.solid, &fixture.laid, &limits, &fault);
        memory_fail_after(-1);
        assert_int_equal(status, n < 11 && status ? STATUS_NO_RESOURCE : STATUS_OK);
        panels_clear(&panels);
    }
    fixture_clear(&fixture);
}

/* A picture whose left half is plain and whose right half is noise. */
static void write_halves(void)
{
    FILE *picture = fopen(in_room("halves.ppm"), "wb");
    unsigned seed = 9;
    fprintf(picture, "P6 60 40 255\n");
    for (int y = 0; y < 40; y++)
        for (int x = 0; x < 60; x++)
            for (int c = 0; c < 3; c++)
                putc(x < 30 ? 60 + 50 * c : (int)(chance(&seed) % 2 * 220), picture);
    fclose(picture);
}

/* awk: bricks of each panel and its colours, from bricks.csv alone; prints the standard
 * deviation of bricks + 4 x colours in per cent of the mean. */
static double deviation_of(const char *folder)
{
    assert_int_equal(
        shell("awk -F, 'NR > 1 { d[$1]++; if (!s[$1, $9]++) d[$1] += 4 } END { for (p in d) { n++; "
              "a += d[p]; b += d[p] * d[p] } a /= n; printf \"%%.6f\", 100 * sqrt(b / n - a * a) / "
              "a }' %s/bricks.csv",
              folder),
        0);
    return atof(command_said);
}

/* The cards of such a picture ask more alike than equal ones, and the plan keeps its promises:
 * check finds every cell in one panel and no brick over an edge. */
static void halves_are_evened(void **state)
{
    (void)state;
    static const char plan[] = "rowlock plan halves.ppm --columns 60 --dither none --kit 10x10";
    write_halves();
    assert_int_equal(shell("%s --book no --quote no --out equal && rowlock check equal", plan), 0);
    assert_int_equal(
        shell("%s --kit-even --book no --quote no --out even && rowlock check even", plan), 0);
    assert_non_null(strstr(command_said, "standard deviation"));
    const double equal = deviation_of("equal"), even = deviation_of("even");
    assert_true(even < 0.7 * equal); /* 0.62 when it was set */
    assert_int_equal(
        shell("awk -F, 'NR > 1 && ($4 > 10 || $5 > 10 || $4 < 4 || $5 < 4) { exit 1 }' "
              "even/panels.csv"),
        0);
    assert_int_equal(shell("pdftotext -f 1 -l 1 even/kit.pdf - | tr '\\n' ' '"), 0);
    assert_non_null(strstr(command_said, "Difficulty = bricks + 4 × colours"));
    char told[40];
    snprintf(told, sizeof told, "standard deviation %.0f %%", even);
    assert_non_null(strstr(command_said, told));
    snprintf(told, sizeof told, "standard deviation %.0f %%", equal);
    assert_non_null(strstr(command_said, told));
}

/* Whatever the card and the mural: each even card is no larger than the card asked for, and no
 * thinner than a third of it where the mural allows; check finds every cell in one card. */
static void no_card_is_larger_than_asked(void **state)
{
    (void)state;
    unsigned seed = 21;
    write_halves();
    for (int i = 0; i < 8; i++) {
        const int w = 2 + (int)(chance(&seed) % 11), h = 2 + (int)(chance(&seed) % 11);
        const int columns = 13 + (int)(chance(&seed) % 40);
        /* 1: where a narrow card of a wall's noise cannot be made to hold, which is said. */
        const int code =
            shell("rowlock plan halves.ppm --columns %d --dither none --kit %dx%d "
                  "--kit-even --book no --quote no --out any %s; code=$?; rowlock check "
                  "any || [ $code = 1 ]",
                  columns, w, h, i % 2 ? "--build wall" : "");
        assert_int_equal(code, 0);
        assert_non_null(strstr(command_said, "cards ask for"));
        if (shell(
                "awk -F, 'NR > 1 && ($4 > %d || $5 > %d || 3 * $4 < %d || 3 * $5 < %d) { exit 1 }' "
                "any/panels.csv",
                w, h, w, h))
            fail_msg("a card of %d columns by %dx%d", columns, w, h);
    }
}

/* The same bytes for any number of threads; walls and reliefs are cut too. */
static void evening_is_steady(void **state)
{
    (void)state;
    static const char *const builds[] = {
        "--relief luminance --steps 2 --relief-islands 0",
        "--build wall --thickness 2 --relief luminance --steps 2 --relief-islands 0"};
    write_halves();
    for (int i = 0; i < 2; i++) {
        for (int threads = 1; threads <= 3; threads += 2)
            assert_int_equal(
                shell("rowlock plan halves.ppm --columns 60 --dither none --kit 12x12 "
                      "--kit-even --book no --quote no --quiet --threads %d --out t%d %s; "
                      "rowlock check t%d",
                      threads, threads, builds[i], threads) &
                    ~1,
                0);
        assert_int_equal(shell("cmp t1/bricks.csv t3/bricks.csv && cmp t1/kit.pdf t3/kit.pdf"), 0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_cut_is_the_best_of_all),
        cmocka_unit_test(spread_is_counted),
        cmocka_unit_test(lacks_memory),
        cmocka_unit_test(halves_are_evened),
        cmocka_unit_test(no_card_is_larger_than_asked),
        cmocka_unit_test(evening_is_steady),
    };
    return cmocka_run_group_tests(tests, command_setup, command_teardown);
}
