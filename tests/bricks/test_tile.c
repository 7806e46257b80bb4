/* Laying one layer, against: published counts and formulas, brute force of its own, and
 * the set partitioning integer program solved by a general-purpose solver. */
#include "base/memory.h"
#include "support/layouts.h"
#include "support/scratch.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <unistd.h>

#include <cmocka.h>

static const LayOptions quick = {.threads = 1, .effort = 0};
static const LayOptions usual = {.threads = 2, .effort = 0.25};

/* Fails unless the tiles fill the field exactly, each within one colour and one panel, of
 * a size of the set. */
static void assert_fills(const TileField *f, const Sizes *sizes, const Tiling *tiling)
{
    bool *done = calloc((size_t)f->columns * (size_t)f->rows, sizeof *done);
    for (size_t i = 0; i < tiling->count; i++) {
        const Tile *t = &tiling->tile[i];
        const Size *z = &sizes->size[t->size];
        assert_true((t->columns == z->width && t->rows == z->length) ||
                    (t->columns == z->length && t->rows == z->width));
        assert_true(layouts_fits(f, done, t->column, t->row, t->columns, t->rows));
        uint8_t label = TILE_FREE;
        for (int r = t->row; r < t->row + t->rows; r++)
            for (int c = t->column; c < t->column + t->columns; c++) {
                const size_t at = (size_t)r * (size_t)f->columns + (size_t)c;
                done[at] = true;
                if (f->label[at] != TILE_FREE) label = f->label[at];
            }
        assert_int_equal(t->label, label);
    }
    for (size_t i = 0; i < (size_t)f->columns * (size_t)f->rows; i++)
        assert_true(done[i] == (f->label[i] != TILE_EMPTY));
    free(done);
}

/* Lays, checks and returns the number of bricks. */
static size_t bricks_of(const TileField *f, const Sizes *sizes, const LayOptions *options,
                        double *bound_out)
{
    Tiling tiling;
    Fault fault;
    assert_int_equal(tile_field(&tiling, f, sizes, options, NULL, &fault), STATUS_OK);
    assert_fills(f, sizes, &tiling);
    const size_t count = tiling.count;
    assert_true(tiling.bound <= (double)count);
    if (bound_out) *bound_out = tiling.bound;
    tiling_clear(&tiling);
    return count;
}

static Layout drawing(const char *const *row, int rows)
{
    Layout l = layout_of((int)strlen(row[0]), rows);
    for (int r = 0; r < rows; r++)
        for (int c = 0; c < l.field.columns; c++) {
            const char mark = row[rows - 1 - r][c];
            l.label[r * l.field.columns + c] = mark == '.'   ? TILE_EMPTY
                                               : mark == '*' ? TILE_FREE
                                                             : (uint8_t)(mark - 'a');
        }
    return l;
}

/* Coin change for bricks one high, lengths 1 2 3 4 6 8 (methods F1). */
static void runs_are_coin_change(void **state)
{
    (void)state;
    static const int side[][2] = {{1, 1}, {1, 2}, {1, 3}, {1, 4}, {1, 6}, {1, 8}};
    static const size_t least[] = {1, 1, 1, 1, 2, 1, 2, 1, 2, 2, 2, 2, 3, 2, 3, 2,
                                   3, 3, 3, 3, 4, 3, 4, 3, 4, 4, 4, 4, 5, 4, 5, 4};
    Sizes sizes;
    layouts_set(&sizes, side, 6);
    for (int n = 1; n <= 32; n++)
        for (int upright = 0; upright < 2; upright++) {
            Layout l = upright ? layout_of(1, n) : layout_of(n, 1);
            double bound;
            assert_int_equal(bricks_of(&l.field, &sizes, &usual, &bound), least[n - 1]);
            assert_true(bound == (double)least[n - 1]);
            layout_clear(&l);
        }
}

/* Greedy is not the least for lengths 1 3 4: six cells are 3 + 3 (methods F1). */
static void six_is_two_threes(void **state)
{
    (void)state;
    static const int side[][2] = {{1, 1}, {1, 3}, {1, 4}};
    Sizes sizes;
    layouts_set(&sizes, side, 3);
    Layout l = layout_of(6, 1);
    assert_int_equal(bricks_of(&l.field, &sizes, &quick, NULL), 2);
    layout_clear(&l);
}

/* Fewest rectangles of any size: L 2, plus 3, square ring 4 (methods F1: N - L - H + 1). */
static void rectangles_of_any_size(void **state)
{
    (void)state;
    Sizes sizes = {0};
    int side[36][2], count = 0;
    for (int a = 1; a <= 8; a++)
        for (int b = a; b <= 8; b++) side[count][0] = a, side[count++][1] = b;
    layouts_set(&sizes, (const int(*)[2])side, count);
    static const char *const ell[] = {"aa....", "aa....", "aa....", "aaaaaa", "aaaaaa"};
    static const char *const plus[] = {"..aa..", "..aa..", "aaaaaa", "aaaaaa", "..aa..", "..aa.."};
    static const char *const ring[] = {"aaaaaaa", "aaaaaaa", "aa...aa",
                                       "aa...aa", "aaaaaaa", "aaaaaaa"};
    Layout l = drawing(ell, 5);
    assert_int_equal(bricks_of(&l.field, &sizes, &usual, NULL), 2);
    layout_clear(&l);
    l = drawing(plus, 6);
    assert_int_equal(bricks_of(&l.field, &sizes, &usual, NULL), 3);
    layout_clear(&l);
    l = drawing(ring, 6);
    assert_int_equal(bricks_of(&l.field, &sizes, &usual, NULL), 4);
    layout_clear(&l);
}

/* ---- brute force: the first bare cell gets every brick that fits, in turn ---- */

typedef struct Brute {
    const TileField *field;
    const Sizes *sizes;
    const double *cost;
    double best;
    bool done[64];
} Brute;

static void brute(Brute *b, int at, double cost)
{
    const TileField *f = b->field;
    const int cells = f->columns * f->rows;
    if (cost >= b->best) return;
    while (at < cells && (b->done[at] || f->label[at] == TILE_EMPTY)) at++;
    if (at == cells) {
        b->best = cost;
        return;
    }
    for (int s = 2 * b->sizes->count - 1; s >= 0; s--) {
        const Size *z = &b->sizes->size[s / 2];
        const int w = s % 2 ? z->width : z->length, h = s % 2 ? z->length : z->width;
        const int c = at % f->columns, r = at / f->columns;
        if ((s % 2 && w == h) || !layouts_fits(f, b->done, c, r, w, h)) continue;
        for (int k = 0; k < w * h; k++) b->done[at + k / w * f->columns + k % w] = true;
        brute(b, at + w, cost + (b->cost ? b->cost[s / 2] : 1));
        for (int k = 0; k < w * h; k++) b->done[at + k / w * f->columns + k % w] = false;
    }
}

static double brute_force(const TileField *f, const Sizes *sizes, const double *cost)
{
    Brute b = {.field = f, .sizes = sizes, .cost = cost, .best = INFINITY};
    brute(&b, 0, 0);
    return b.best;
}

/* A thousand random grids of 5x5 in two colours. */
static void two_colour_grids(void **state)
{
    (void)state;
    Sizes sizes;
    layouts_default(&sizes);
    uint32_t lot = 1;
    for (int n = 0; n < 1000 / LAYOUTS_SHARE; n++) {
        Layout l = layout_of(5, 5);
        for (int i = 0; i < 25; i++) l.label[i] = chance(&lot) % 100 < 35;
        double bound;
        const double best = brute_force(&l.field, &sizes, NULL);
        assert_true((double)bricks_of(&l.field, &sizes, n % 2 ? &quick : &usual, &bound) == best);
        assert_true(bound == best);
        layout_clear(&l);
    }
}

/* Grids with cells of any colour, cells left out and panel edges. */
static void grids_with_backing(void **state)
{
    (void)state;
    Sizes sizes;
    layouts_default(&sizes);
    uint32_t lot = 2;
    static const uint8_t label[] = {0, 0, 1, TILE_FREE, TILE_FREE, TILE_EMPTY};
    for (int n = 0; n < 400 / LAYOUTS_SHARE; n++) {
        Layout l = layout_of(6, 4);
        bool edge[6] = {true, false, n % 3 == 0, false, n % 5 == 0, false};
        l.field.edge_column = edge;
        for (int i = 0; i < 24; i++) l.label[i] = label[chance(&lot) % 6];
        double bound;
        const double best = brute_force(&l.field, &sizes, NULL);
        assert_true((double)bricks_of(&l.field, &sizes, &usual, &bound) == best);
        assert_true(bound <= best);
        layout_clear(&l);
    }
}

/* Costs that differ: the least cost, a bound of it, and a bound that stays one of bricks. */
static void least_cost(void **state)
{
    (void)state;
    Sizes sizes;
    layouts_default(&sizes);
    const double cost[] = {0.04, 0.05, 0.09, 0.08, 0.11, 0.2, 0.07, 0.12, 0.13, 0.3, 0.31};
    const LayOptions options = {.threads = 1, .effort = 1, .cost = cost};
    uint32_t lot = 3;
    int proven = 0;
    for (int n = 0; n < 100 / LAYOUTS_SHARE; n++) {
        Layout l = layout_of(5, 5);
        for (int i = 0; i < 25; i++) l.label[i] = chance(&lot) % 100 < 30;
        Tiling tiling;
        assert_int_equal(tile_field(&tiling, &l.field, &sizes, &options, NULL, NULL), STATUS_OK);
        assert_fills(&l.field, &sizes, &tiling);
        double sum = 0;
        for (size_t i = 0; i < tiling.count; i++) sum += cost[tiling.tile[i].size];
        assert_true(fabs(sum - brute_force(&l.field, &sizes, cost)) < 1e-5);
        assert_true(tiling.bound <= brute_force(&l.field, &sizes, NULL));
        assert_true(tiling.cost <= sum * (1 + 1e-12));
        assert_true(tiling.cost > 0.99 * sum);
        proven += tiling.cost > sum - 1e-5;
        tiling_clear(&tiling);
        layout_clear(&l);
    }
    assert_int_equal(proven, 100 / LAYOUTS_SHARE);
}

/* A size of infinite cost is not used. */
static void size_out_of_use(void **state)
{
    (void)state;
    Sizes sizes;
    layouts_default(&sizes);
    double cost[11];
    for (int i = 0; i < 11; i++) cost[i] = i == 10 ? INFINITY : 1;
    const LayOptions options = {.threads = 1, .effort = 0.5, .cost = cost};
    Layout l = layout_of(16, 8);
    Tiling tiling;
    assert_int_equal(tile_field(&tiling, &l.field, &sizes, &options, NULL, NULL), STATUS_OK);
    assert_fills(&l.field, &sizes, &tiling);
    for (size_t i = 0; i < tiling.count; i++) assert_true(tiling.tile[i].size != 10);
    assert_true(tiling.bound >= 128.0 / 12);
    tiling_clear(&tiling);
    layout_clear(&l);
}

/* ---- brick sets of other kinds, against brute force ---- */

static void odd_sets(void **state)
{
    (void)state;
    static const int odd[][2] = {{1, 1}, {1, 3}, {2, 5}, {3, 3}};
    static const int prime[][2] = {{1, 1}, {1, 2}, {1, 5}, {1, 7}, {3, 2}};
    static const int pairs[][2] = {{1, 2}, {1, 3}, {2, 2}};
    static const int long_ones[][2] = {{1, 1}, {2, 7}, {1, 11}};
    const struct {
        const int (*side)[2];
        int count;
    } set[] = {{odd, 4}, {prime, 5}, {pairs, 3}, {long_ones, 3}};
    uint32_t lot = 4;
    for (int n = 0; n < 400 / LAYOUTS_SHARE; n++) {
        Sizes sizes;
        layouts_set(&sizes, set[n % 4].side, set[n % 4].count);
        Layout l = layout_of(7, 5);
        for (int i = 0; i < 35; i++) l.label[i] = chance(&lot) % 100 < 15;
        const double best = brute_force(&l.field, &sizes, NULL);
        Tiling tiling;
        Fault fault;
        const Status status = tile_field(&tiling, &l.field, &sizes, &usual, NULL, &fault);
        if (isinf(best)) {
            assert_int_equal(status, STATUS_DATA);
            assert_non_null(strstr(fault.text, "column "));
            assert_non_null(strstr(fault.text, "cannot"));
        } else {
            assert_int_equal(status, STATUS_OK);
            assert_fills(&l.field, &sizes, &tiling);
            assert_true((double)tiling.count == best);
            tiling_clear(&tiling);
        }
        layout_clear(&l);
    }
}

/* A single cell among others, in a set without 1x1, is named by its place. */
static void lone_cell_is_named(void **state)
{
    (void)state;
    static const int side[][2] = {{1, 2}, {1, 3}, {2, 2}, {2, 4}};
    Sizes sizes;
    layouts_set(&sizes, side, 4);
    Layout l = layout_of(12, 9);
    l.label[5 * 12 + 7] = 1;
    Tiling tiling;
    Fault fault;
    l.field.name = "tier 2";
    assert_int_equal(tile_field(&tiling, &l.field, &sizes, &usual, NULL, &fault), STATUS_DATA);
    assert_non_null(strstr(fault.text, "tier 2, column 8, row 6: "));
    assert_non_null(strstr(fault.text, "cannot"));
    layout_clear(&l);
}

/* A chessboard without two corners of one colour cannot be covered by dominoes; without
 * two of different colours it can (Gomory's theorem). */
static void dominoes(void **state)
{
    (void)state;
    static const int side[][2] = {{1, 2}};
    Sizes sizes;
    layouts_set(&sizes, side, 1);
    Layout l = layout_of(8, 8);
    l.label[0] = l.label[63] = TILE_EMPTY;
    Tiling tiling;
    Fault fault;
    assert_int_equal(tile_field(&tiling, &l.field, &sizes, &usual, NULL, &fault), STATUS_DATA);
    assert_non_null(strstr(fault.text, "cannot"));
    for (int i = 0; i < 64; i++)
        for (int k = i + 1; k < 64; k += 5 * LAYOUTS_SHARE) {
            if ((i % 8 + i / 8 + k % 8 + k / 8) % 2 == 0) continue;
            memset(l.label, 0, 64);
            l.label[i] = l.label[k] = TILE_EMPTY;
            assert_int_equal(bricks_of(&l.field, &sizes, &quick, NULL), 31);
        }
    layout_clear(&l);
}

/* Large fields that a set without 1x1 can fill, but not just anyhow: every length is of
 * both parities, and colours meet at odd places. */
static void covers_that_must_be_searched(void **state)
{
    (void)state;
    static const int side[][2] = {{2, 2}, {2, 3}, {3, 3}, {3, 5}, {2, 7}};
    Sizes sizes;
    layouts_set(&sizes, side, 5);
    uint32_t lot = 5;
    for (int n = 0; n < 12 / LAYOUTS_SHARE; n++) {
        /* Laid by hand first, in a random order, so that a cover exists. */
        Layout l = layout_of(40, 31);
        bool *done = calloc(40 * 31, sizeof *done);
        for (int i = 0; i < 40 * 31; i++) {
            if (done[i]) continue;
            l.label[i] = TILE_EMPTY;
            for (int attempt = 0; attempt < 8; attempt++) {
                const int s = (int)(chance(&lot) % 10);
                const int w = s % 2 ? side[s / 2][0] : side[s / 2][1];
                const int h = s % 2 ? side[s / 2][1] : side[s / 2][0];
                bool fits = i % 40 + w <= 40 && i / 40 + h <= 31;
                for (int k = 0; fits && k < w * h; k++) fits = !done[i + k / w * 40 + k % w];
                if (!fits) continue;
                const uint8_t colour = (uint8_t)(chance(&lot) % 2);
                for (int k = 0; k < w * h; k++) {
                    done[i + k / w * 40 + k % w] = true;
                    l.label[i + k / w * 40 + k % w] = colour;
                }
                break;
            }
        }
        bricks_of(&l.field, &sizes, &usual, NULL);
        free(done);
        layout_clear(&l);
    }
}

/* ---- the integer program ---- */

static const char *solver(void)
{
    if (system("command -v cbc >/dev/null 2>&1") == 0) return "cbc";
    return system("command -v glpsol >/dev/null 2>&1") == 0 ? "glpsol" : NULL;
}

static void write_program(const TileField *f, const Sizes *sizes, const char *path)
{
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    const int cells = f->columns * f->rows;
    bool *none = calloc((size_t)cells, sizeof *none);
    int *over = calloc((size_t)cells * 512, sizeof *over); /* variables over each cell */
    int *overs = calloc((size_t)cells, sizeof *overs);
    int variables = 0;
    for (int s = 0; s < 2 * sizes->count; s++) {
        const Size *z = &sizes->size[s / 2];
        const int w = s % 2 ? z->width : z->length, h = s % 2 ? z->length : z->width;
        if (s % 2 && w == h) continue;
        for (int i = 0; i < cells; i++) {
            if (!layouts_fits(f, none, i % f->columns, i / f->columns, w, h)) continue;
            for (int k = 0; k < w * h; k++) {
                const int at = i + k / w * f->columns + k % w;
                assert_true(overs[at] < 512);
                over[at * 512 + overs[at]++] = variables;
            }
            variables++;
        }
    }
    fprintf(file, "Minimize\n bricks:");
    for (int v = 0; v < variables; v++) fprintf(file, " + x%d%s", v, v % 12 == 11 ? "\n" : "");
    fprintf(file, "\nSubject To\n");
    for (int i = 0; i < cells; i++) {
        if (!overs[i]) continue;
        fprintf(file, " c%d:", i);
        for (int k = 0; k < overs[i]; k++)
            fprintf(file, " + x%d%s", over[i * 512 + k], k % 12 == 11 ? "\n" : "");
        fprintf(file, " = 1\n");
    }
    fprintf(file, "Binary\n");
    for (int v = 0; v < variables; v++) fprintf(file, " x%d%s", v, v % 12 == 11 ? "\n" : "");
    fprintf(file, "\nEnd\n");
    fclose(file);
    free(none);
    free(over);
    free(overs);
}

/* The least number of bricks by the solver; -1 where it was not proven in time. */
static double least_by_program(const TileField *f, const Sizes *sizes)
{
    char folder[SCRATCH_MOST], program[SCRATCH_MOST + 16], answer[SCRATCH_MOST + 16], command[256];
    assert_true(scratch_folder(folder));
    snprintf(program, sizeof program, "%s/program.lp", folder);
    snprintf(answer, sizeof answer, "%s/answer", folder);
    write_program(f, sizes, program);
    const bool cbc = strcmp(solver(), "cbc") == 0;
    snprintf(command, sizeof command,
             cbc ? "cbc %s sec 60 solve solution %s >/dev/null"
                 : "glpsol --lp %s --tmlim 60 -w %s >/dev/null",
             program, answer);
    assert_int_equal(system(command), 0);
    FILE *file = fopen(answer, "r");
    assert_non_null(file);
    double least = -1;
    char line[256];
    while (fgets(line, sizeof line, file)) {
        if (cbc && sscanf(line, "Optimal - objective value %lf", &least) == 1) break;
        if (!cbc && sscanf(line, "s mip %*d %*d o %lf", &least) == 1) break;
    }
    fclose(file);
    unlink(program);
    unlink(answer);
    rmdir(folder);
    return least;
}

/* The pictures: on average at most 0.5 % above the least, never 2 %, and the bound is
 * one. */
static void pictures_against_program(void **state)
{
    (void)state;
    if (!solver()) skip();
    static const char *const name[] = {"astronaut-32-nearest", "cup-48-nearest", "face-48-diffused",
                                       "coffee-wide-nearest"};
    Sizes sizes;
    layouts_default(&sizes);
    double sum = 0;
    for (size_t i = 0; i < sizeof name / sizeof *name; i++) {
        Layout l = layout_read(name[i], 0, 0);
        double bound;
        const double bricks = (double)bricks_of(&l.field, &sizes, &usual, &bound);
        const double least = least_by_program(&l.field, &sizes);
        assert_true(least > 0);
        print_message("%s: %.0f bricks, least %.0f, bound %.0f\n", name[i], bricks, least, bound);
        assert_true(bound <= least && bricks >= least);
        assert_true(bricks <= least * 1.02);
        sum += bricks / least - 1;
        layout_clear(&l);
    }
    assert_true(sum / (double)(sizeof name / sizeof *name) <= 0.005);
}

/* Random blots of few colours, in random sets. */
static void blots_against_program(void **state)
{
    (void)state;
    if (!solver()) skip();
    uint32_t lot = 6;
    for (int n = 0; n < 10 / LAYOUTS_SHARE; n++) {
        Sizes sizes;
        int side[9][2] = {{1, 1}}, count = 1;
        for (int k = 0; k < 8; k++) {
            const int a = 1 + (int)(chance(&lot) % 3), b = 1 + (int)(chance(&lot) % 9);
            side[count][0] = a < b ? a : b;
            side[count][1] = a < b ? b : a;
            bool twice = false;
            for (int i = 0; i < count; i++)
                twice |= side[i][0] == side[count][0] && side[i][1] == side[count][1];
            count += !twice;
        }
        layouts_set(&sizes, (const int(*)[2])side, count);
        Layout l = layout_of(20, 16);
        for (int k = 0; k < 25; k++) {
            const int c = (int)(chance(&lot) % 20), r = (int)(chance(&lot) % 16);
            const uint8_t colour = (uint8_t)(chance(&lot) % 4);
            for (int i = 0; i < 320; i++)
                if (abs(i % 20 - c) + abs(i / 20 - r) < 4) l.label[i] = colour;
        }
        double bound;
        const double bricks = (double)bricks_of(&l.field, &sizes, &usual, &bound);
        const double least = least_by_program(&l.field, &sizes);
        assert_true(least > 0 && bound <= least);
        assert_true(bricks >= least && bricks <= least * 1.02);
        layout_clear(&l);
    }
}

/* ---- properties ---- */

static Layout random_field(uint32_t *lot)
{
    Layout l = layout_of(10 + (int)(chance(lot) % 50), 10 + (int)(chance(lot) % 50));
    const int colours = 1 + (int)(chance(lot) % 4), keep = (int)(chance(lot) % 100);
    for (int r = 0; r < l.field.rows; r++)
        for (int c = 0; c < l.field.columns; c++) {
            const int at = r * l.field.columns + c;
            const bool left = c && (int)(chance(lot) % 100) < keep;
            const bool low = r && (int)(chance(lot) % 100) < keep;
            if (left)
                l.label[at] = l.label[at - 1];
            else if (low)
                l.label[at] = l.label[at - l.field.columns];
            else
                l.label[at] = (uint8_t)(chance(lot) % (uint32_t)colours);
        }
    return l;
}

/* No effort is worse than the largest brick wherever it fits, as the test lays it. */
static void never_worse_than_largest_first(void **state)
{
    (void)state;
    Sizes sizes;
    layouts_default(&sizes);
    uint32_t lot = 8;
    for (int n = 0; n < 60 / LAYOUTS_SHARE; n++) {
        Layout l = random_field(&lot);
        const LayOptions options = {.threads = 2, .effort = n % 5 * 0.25};
        assert_true(bricks_of(&l.field, &sizes, &options, NULL) <=
                    layouts_largest_first(&l.field, &sizes));
        layout_clear(&l);
    }
}

/* The same tiles, byte for byte, from any number of threads. */
static void threads_do_not_matter(void **state)
{
    (void)state;
    Sizes sizes;
    layouts_default(&sizes);
    Layout l = layout_read("cup-48-nearest", 80, 70);
    Tiling one;
    LayOptions options = {.threads = 1, .effort = 0.3};
    assert_int_equal(tile_field(&one, &l.field, &sizes, &options, NULL, NULL), STATUS_OK);
    for (options.threads = 2; options.threads <= 3; options.threads++) {
        Tiling other;
        assert_int_equal(tile_field(&other, &l.field, &sizes, &options, NULL, NULL), STATUS_OK);
        assert_int_equal(one.count, other.count);
        assert_memory_equal(one.tile, other.tile, one.count * sizeof *one.tile);
        assert_true(one.bound == other.bound);
        tiling_clear(&other);
    }
    tiling_clear(&one);
    layout_clear(&l);
}

/* Tiles prefer to bridge the joints of the layer below where that costs nothing. */
static void joints_are_bridged(void **state)
{
    (void)state;
    Sizes sizes;
    layouts_default(&sizes);
    Layout l = layout_of(16, 16);
    int32_t below[256];
    for (int i = 0; i < 256; i++) below[i] = i / 16 / 2 * 2 + i % 16 / 8; /* rows of 2x8 */
    l.field.below = below;
    Tiling tiling;
    assert_int_equal(tile_field(&tiling, &l.field, &sizes, &usual, NULL, NULL), STATUS_OK);
    assert_fills(&l.field, &sizes, &tiling);
    assert_int_equal(tiling.count, 16);
    int bridging = 0;
    for (size_t i = 0; i < tiling.count; i++) {
        const Tile *t = &tiling.tile[i];
        const int32_t first = below[t->row * 16 + t->column];
        bridging += first != below[(t->row + t->rows - 1) * 16 + t->column + t->columns - 1];
    }
    print_message("%d of 16 bridge\n", bridging);
    assert_true(bridging >= 12);
    tiling_clear(&tiling);
    layout_clear(&l);
}

/* Joints that no tile of a panel crosses, over all columns and rows: counted from the
 * definition. */
static int lines_across(const Tiling *tiling, int columns, int rows, int panel)
{
    int lines = 0;
    for (int p = 0; p < columns / panel * (rows / panel); p++) {
        const int left = p % (columns / panel) * panel, low = p / (columns / panel) * panel;
        for (int at = 1; at < panel; at++) {
            bool upright = true, level = true;
            for (size_t i = 0; i < tiling->count; i++) {
                const Tile *t = &tiling->tile[i];
                if (t->column / panel * panel != left || t->row / panel * panel != low) continue;
                if (t->column < left + at && t->column + t->columns > left + at) upright = false;
                if (t->row < low + at && t->row + t->rows > low + at) level = false;
            }
            lines += upright + level;
        }
    }
    return lines;
}

/* In panels of one colour nearly every joint is broken, at no brick more. */
static void panels_have_no_hinges(void **state)
{
    (void)state;
    Sizes sizes;
    layouts_default(&sizes);
    Layout l = layout_of(96, 48);
    bool edge[96];
    layout_cut(&l, edge, 48);
    Tiling tiling;
    assert_int_equal(tile_field(&tiling, &l.field, &sizes, &usual, NULL, NULL), STATUS_OK);
    assert_fills(&l.field, &sizes, &tiling);
    assert_int_equal(tiling.count, 2 * 144);
    assert_true(lines_across(&tiling, 96, 48, 48) <= 4); /* of 188 */
    tiling_clear(&tiling);
    layout_clear(&l);
}

/* Points at which the corners of four tiles meet, counted from the tiles alone. */
static int meetings_of_four(const Tiling *tiling, int columns, int rows)
{
    int *corners = calloc((size_t)(columns + 1) * (size_t)(rows + 1), sizeof *corners), found = 0;
    assert_non_null(corners);
    for (size_t i = 0; i < tiling->count; i++) {
        const Tile *t = &tiling->tile[i];
        for (int k = 0; k < 4; k++)
            corners[(t->row + k / 2 * t->rows) * (columns + 1) + t->column + k % 2 * t->columns]++;
    }
    for (int i = 0; i < (columns + 1) * (rows + 1); i++) found += corners[i] == 4;
    free(corners);
    return found;
}

/* Where a bond is asked for fewer corners meet in fours, at no brick more. */
static void bonds_have_fewer_crossings(void **state)
{
    (void)state;
    Sizes sizes;
    layouts_default(&sizes);
    int plain = 0, bonded = 0;
    static const char *const picture[] = {"cup-48-nearest", "astronaut-48-nearest"};
    for (int n = 0; n < 2; n++) {
        Layout l = layout_read(picture[n], 0, 0);
        for (int regular = 0; regular < 2; regular++) {
            LayOptions options = usual;
            options.regular = regular;
            Tiling tiling;
            assert_int_equal(tile_field(&tiling, &l.field, &sizes, &options, NULL, NULL),
                             STATUS_OK);
            assert_fills(&l.field, &sizes, &tiling);
            *(regular ? &bonded : &plain) +=
                meetings_of_four(&tiling, l.field.columns, l.field.rows);
            static size_t bricks[2];
            if (regular)
                assert_true(tiling.count <= bricks[n]);
            else
                bricks[n] = tiling.count;
            tiling_clear(&tiling);
        }
        layout_clear(&l);
    }
    print_message("%d meetings of four, %d bonded\n", plain, bonded);
    assert_true(bonded < plain * 9 / 10);
}

/* Each allocation fails in turn; each time a fault, and nothing is left behind. */
static void allocations_fail_in_turn(void **state)
{
    (void)state;
    Sizes sizes;
    layouts_default(&sizes);
    static const int pairs[][2] = {{2, 2}, {2, 3}, {3, 5}};
    Layout l = layout_read("cup-48-nearest", 0, 0);
    l.field.rows = 9;
    const LayOptions options = {.threads = 1, .effort = 0};
    for (int set = 0; set < 2; set++) {
        if (set) {
            layouts_set(&sizes, pairs, 3);
            memset(l.label, 0, 9 * 48);
        }
        for (long n = 0;; n++) {
            Tiling tiling;
            Fault fault;
            memory_fail_after(n);
            const Status status = tile_field(&tiling, &l.field, &sizes, &options, NULL, &fault);
            const bool failed = memory_countdown() < 0;
            memory_fail_after(-1);
            assert_int_equal(status, failed ? STATUS_NO_RESOURCE : STATUS_OK);
            tiling_clear(&tiling);
            if (!failed) break;
        }
    }
    layout_clear(&l);
}

/* What the fault says of a field laid while allocation n fails; false if there are not so many. */
static bool fault_at(const TileField *field, int threads, long n, char text[sizeof(Fault)])
{
    Sizes sizes;
    layouts_default(&sizes);
    const LayOptions options = {.threads = threads, .effort = 0.25};
    Tiling tiling;
    Fault fault = {0};
    memory_fail_after(n);
    const Status status = tile_field(&tiling, field, &sizes, &options, NULL, &fault);
    const bool failed = memory_countdown() < 0;
    memory_fail_after(-1);
    assert_int_equal(status, failed ? STATUS_NO_RESOURCE : STATUS_OK);
    assert_int_equal(fault.status, status);
    strcpy(text, fault.text);
    tiling_clear(&tiling);
    return failed;
}

/* A thread's fault is told as it was set where it happened: what is asked for differs from one
 * allocation to the next, and so do the faults. On two threads there is one each time, too. */
static void faults_of_threads_are_told(void **state)
{
    (void)state;
    enum { MOST = 1000 };
    static char text[MOST][sizeof(Fault)];
    Layout l = layout_of(40, 12);
    for (int c = 20; c < 40; c++)
        for (int r = 0; r < 12; r++) l.label[r * 40 + c] = (uint8_t)(1 + r / 7);
    int count = 0, kinds = 0;
    while (count < MOST && fault_at(&l.field, 1, count, text[count])) {
        bool told = false;
        for (int i = 0; i < count; i++) told = told || strcmp(text[i], text[count]) == 0;
        kinds += !told;
        count++;
    }
    assert_in_range(count, 50, MOST - 1);
    assert_true(kinds > 20);
    for (int n = 0; fault_at(&l.field, 2, n, text[0]); n += 7) assert_true(*text[0]);
    print_message("%d allocations, %d faults\n", count, kinds);
    layout_clear(&l);
}

static bool at_once(void *self)
{
    (void)self;
    return true;
}

static void stops_when_told(void **state)
{
    (void)state;
    Sizes sizes;
    layouts_default(&sizes);
    const Voice voice = {.stopped = at_once};
    Layout l = layout_of(20, 20);
    Tiling tiling;
    assert_int_equal(tile_field(&tiling, &l.field, &sizes, &usual, &voice, NULL),
                     STATUS_INTERRUPTED);
    layout_clear(&l);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(runs_are_coin_change),
        cmocka_unit_test(six_is_two_threes),
        cmocka_unit_test(rectangles_of_any_size),
        cmocka_unit_test(two_colour_grids),
        cmocka_unit_test(grids_with_backing),
        cmocka_unit_test(least_cost),
        cmocka_unit_test(size_out_of_use),
        cmocka_unit_test(odd_sets),
        cmocka_unit_test(lone_cell_is_named),
        cmocka_unit_test(dominoes),
        cmocka_unit_test(covers_that_must_be_searched),
        cmocka_unit_test(pictures_against_program),
        cmocka_unit_test(blots_against_program),
        cmocka_unit_test(never_worse_than_largest_first),
        cmocka_unit_test(threads_do_not_matter),
        cmocka_unit_test(joints_are_bridged),
        cmocka_unit_test(panels_have_no_hinges),
        cmocka_unit_test(bonds_have_fewer_crossings),
        cmocka_unit_test(allocations_fail_in_turn),
        cmocka_unit_test(faults_of_threads_are_told),
        cmocka_unit_test(stops_when_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
