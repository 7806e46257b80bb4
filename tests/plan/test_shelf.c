/* Stock against plans, from outside: random stocks, and every sum worked out anew from
 * the files alone. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/csv.h"
#include "base/memory.h"
#include "model/palette.h"
#include "plan/shelf.h"
#include "support/chance.h"
#include "support/command.h"
#include "support/plan_measure.h"

static Palette palette;
static Sizes sizes;

/* Numbers by colour and size. */
typedef struct Table {
    long of[PALETTE_MOST][SIZES_MOST];
    long lines;
} Table;

static Table stock, packs, count, in_stock, to_buy, order, left;

static void read_table(Table *table, const char *path, const char *column)
{
    Csv *csv;
    assert_int_equal(csv_read(&csv, path, NULL), 0);
    memset(table, 0, sizeof *table);
    const int colour = csv_column(csv, "colour"), size = csv_column(csv, "size"),
              value = csv_column(csv, column);
    for (size_t i = 0; i < csv_rows(csv); i++) {
        int a, b;
        long number;
        assert_true(size_parse(csv_field(csv, i, size), &a, &b));
        assert_int_equal(csv_whole(csv, i, value, (CsvRange){0, 1000000000}, &number, NULL), 0);
        table->of[palette_find(&palette, csv_field(csv, i, colour))][sizes_find(&sizes, a, b)] +=
            number;
        table->lines++;
    }
    csv_free(csv);
}

static void write_stock(const char *path, uint32_t seed, unsigned most, int pack)
{
    FILE *file = fopen(path, "w");
    fprintf(file, "colour,size,quantity,price,pack\n");
    for (int c = 0; c < palette.count; c++)
        for (int s = 0; s < sizes.count; s++)
            if (chance(&seed) % 4)
                fprintf(file, "%s,%s,%u,0.%u,%d\n", palette.colour[c].id, sizes.size[s].name,
                        chance(&seed) % most, chance(&seed) % 90 + 10, pack);
    fclose(file);
}

static void read_stock(const char *name)
{
    read_table(&stock, in_room(name), "quantity");
    read_table(&packs, in_room(name), "pack");
}

static void read_plan(const char *folder)
{
    char path[128];
    const struct {
        Table *table;
        const char *file, *column;
    } tables[] = {{&count, "parts.csv", "count"},
                  {&in_stock, "parts.csv", "in_stock"},
                  {&to_buy, "parts.csv", "to_buy"},
                  {&order, "order.csv", "order"},
                  {&left, "left.csv", "quantity"}};
    for (size_t i = 0; i < sizeof tables / sizeof *tables; i++) {
        snprintf(path, sizeof path, "%s/%s", folder, tables[i].file);
        read_table(tables[i].table, in_room(path), tables[i].column);
    }
}

/* What was there and what is bought is what is used and what is left. */
static void assert_adds_up(void)
{
    long bricks = 0;
    for (int c = 0; c < palette.count; c++)
        for (int s = 0; s < sizes.count; s++) {
            const long pack = packs.of[c][s] ? packs.of[c][s] : 1;
            bricks += count.of[c][s];
            assert_int_equal(stock.of[c][s] + order.of[c][s], count.of[c][s] + left.of[c][s]);
            if (count.of[c][s]) assert_int_equal(in_stock.of[c][s], stock.of[c][s]);
            assert_int_equal(order.of[c][s] % pack, 0);
            assert_in_range(order.of[c][s], to_buy.of[c][s], to_buy.of[c][s] + pack - 1);
        }
    assert_true(bricks > 0);
}

static long units(const Table *table, int colour)
{
    long sum = 0;
    for (int s = 0; s < sizes.count; s++)
        sum += table->of[colour][s] * sizes.size[s].width * sizes.size[s].length;
    return sum;
}

static void sums_add_up_for_random_stocks(void **state)
{
    (void)state;
    for (uint32_t seed = 1; seed <= 4; seed++) {
        const int pack = seed % 2 ? 1 : 25;
        write_stock(in_room("stock.csv"), seed, seed < 3 ? 20 : 200, pack);
        read_stock("stock.csv");
        assert_int_equal(
            shell("rowlock plan coffee.png --columns 40 --dither none --book no --quote no "
                  "--spare %d --stock stock.csv --build %s --thickness 2 --out o && "
                  "rowlock check o",
                  seed % 2 ? 0 : 7, seed == 4 ? "wall" : "plaque"),
            0);
        read_plan("o");
        assert_adds_up();
    }
}

/* The stock that is left is a stock file: nothing of it is lost when it is read again. */
static void what_is_left_is_a_stock_file(void **state)
{
    (void)state;
    write_stock(in_room("stock.csv"), 9, 300, 10);
    assert_int_equal(
        shell("rowlock plan coffee.png --columns 30 --dither none --book no --quote no "
              "--stock stock.csv --out o && cp o/left.csv next.csv && "
              "rowlock plan coffee.png --columns 30 --dither none --book no --quote no "
              "--stock next.csv --out o2"),
        0);
    read_stock("next.csv");
    read_plan("o2");
    assert_adds_up();
}

static void enough_recolouring_buys_nothing(void **state)
{
    (void)state;
    static const char *const dither[] = {"none", "floyd-steinberg", "distance"};
    for (uint32_t seed = 1; seed <= 3; seed++) {
        write_stock(in_room("stock.csv"), seed, 40, 1);
        read_stock("stock.csv");
        assert_int_equal(
            shell("rowlock plan coffee.png --columns 40 --dither %s --book no --quote no "
                  "--stock stock.csv --stock-only --recolour 1e6 --out o && "
                  "rowlock check o",
                  dither[seed - 1]),
            0);
        read_plan("o");
        assert_adds_up();
        for (int c = 0; c < palette.count; c++) assert_true(units(&count, c) <= units(&stock, c));
        assert_int_equal(order.lines, 0);
    }
}

/* The same units on the shelf, all in 1x1. */
static void write_units(const char *path)
{
    FILE *file = fopen(path, "w");
    fprintf(file, "colour,size,quantity,price\n");
    for (int c = 0; c < palette.count; c++)
        fprintf(file, "%s,1x1,%ld,0.1\n", palette.colour[c].id, units(&stock, c));
    fclose(file);
}

/* Against the optimum of the assignment of cells to colours under the same units of each, which
 * stands where sizes are no hindrance (test_ration holds that to an LP solver's). */
static void sizes_cost_less_than_a_hundredth_of_the_look(void **state)
{
    (void)state;
    for (uint32_t seed = 11; seed <= 13; seed++) {
        const char *plan =
            "rowlock plan coffee.png --columns 90 --dither none --book no --quote no --stock "
            "%s --stock-only --out %s && rowlock check %s";
        write_stock(in_room("mixed.csv"), seed, 24, 1);
        read_stock("mixed.csv");
        write_units(in_room("units.csv"));
        assert_int_equal(shell(plan, "mixed.csv", "mixed", "mixed"), 0);
        assert_int_equal(shell(plan, "units.csv", "units", "units"), 0);
        const double optimum = plan_measure(in_room("units/plan.json"), "mean_de00"),
                     mean = plan_measure(in_room("mixed/plan.json"), "mean_de00");
        assert_true(mean >= optimum - 1e-3 && mean <= 1.01 * optimum);
        read_plan("mixed");
        assert_adds_up();
        for (int c = 0; c < palette.count; c++) assert_true(units(&count, c) <= units(&stock, c));
    }
}

/* Where the shelf has plenty of all, the plan is the one without a shelf, brick for brick. */
static void plenty_changes_nothing(void **state)
{
    (void)state;
    FILE *file = fopen(in_room("plenty.csv"), "w");
    fprintf(file, "colour,size,quantity,price\n");
    for (int c = 0; c < palette.count; c++)
        for (int s = 0; s < sizes.count; s++)
            fprintf(file, "%s,%s,9999,0.1\n", palette.colour[c].id, sizes.size[s].name);
    fclose(file);
    static const char *const dither[] = {"none", "floyd-steinberg", "distance"};
    for (int i = 0; i < 3; i++)
        assert_int_equal(
            shell("rowlock plan coffee.png --columns 120 --dither %s --book no --quote no --out "
                  "free && "
                  "rowlock plan coffee.png --columns 120 --dither %s --book no --quote no --stock "
                  "plenty.csv "
                  "--stock-only --out plenty && cmp free/bricks.csv plenty/bricks.csv && rowlock "
                  "check plenty",
                  dither[i], dither[i]),
            0);
}

/* Units of other tiers count, too. */
static void stock_only_holds_for_thick_walls(void **state)
{
    (void)state;
    write_stock(in_room("stock.csv"), 5, 60, 1);
    read_stock("stock.csv");
    assert_int_equal(
        shell("rowlock plan coffee.png --columns 36 --build wall --thickness 2 "
              "--dither none --book no --quote no --stock stock.csv --stock-only --out o && "
              "rowlock check o"),
        0);
    read_plan("o");
    for (int c = 0; c < palette.count; c++) assert_true(units(&count, c) <= units(&stock, c));
}

/* Colours that are searched for with bricks laid on trial are chosen and laid anew, too: the first
 * choice takes as many units of two colours as there are, and headers of a wall take more. */
static void colours_are_searched_for_anew(void **state)
{
    (void)state;
    FILE *file = fopen(in_room("tight.csv"), "w");
    assert_non_null(file);
    fputs("colour,size,quantity,price,pack\n"
          "N1,1x1,40,0.1,1\nN1,1x2,100,0.1,1\nN9,1x1,40,0.1,1\nN9,1x2,100,0.1,1\n"
          "N5,1x1,300,0.1,1\nN5,1x2,200,0.1,1\nN5,1x4,100,0.1,1\nN5,2x4,100,0.1,1\n",
          file);
    assert_int_equal(fclose(file), 0);
    read_stock("tight.csv");
    assert_int_equal(shell("rowlock plan coffee.png --columns 30 --build wall --thickness 2 "
                           "--book no --quote no --stock tight.csv --stock-only --out tight && "
                           "rowlock check tight"),
                     0);
    read_plan("tight");
    for (int c = 0; c < palette.count; c++) assert_true(units(&count, c) <= units(&stock, c));
}

static void stock_only_says_what_it_cannot_do(void **state)
{
    (void)state;
    write_stock(in_room("stock.csv"), 1, 2, 1);
    assert_int_equal(
        shell("rowlock plan coffee.png --columns 90 --dither none --book no --quote no "
              "--stock stock.csv --stock-only --out none"),
        65);
    assert_non_null(strstr(command_said, "cells, the mural has"));
    assert_int_equal(shell("rowlock plan coffee.png --columns 30 --stock-only --out none"), 64);
    assert_int_equal(
        shell("rowlock plan coffee.png --columns 30 --dither none --book no --quote no --out c && "
              "rowlock plan coffee.png --cells c/cells.png --stock stock.csv "
              "--stock-only --book no --quote no --out none"),
        65);
    assert_non_null(strstr(command_said, "leave out --stock-only"));
    assert_int_equal(shell("test -e none"), 1);
}

/* A small laying by hand: two 2x2 of A, of which there is one; its 1x2 serve the other. */
static void a_brick_is_broken_up(void **state)
{
    (void)state;
    uint8_t colour[8] = {0};
    Grid grid = {.columns = 4, .rows = 2, .colour = colour};
    const Solid solid = {.grid = &grid, .build = BUILD_PLAQUE, .base = 1};
    float xyz[24] = {0};
    const Image target = {4, 2, xyz};
    StockLine line[] = {{0, sizes_find(&sizes, 1, 2), 2, 1, 0},
                        {0, sizes_find(&sizes, 2, 2), 1, 1, 0},
                        {1, sizes_find(&sizes, 2, 2), 9, 1, 0}};
    const Stock shelf = {3, line};
    for (long fail = 0;; fail++) {
        Laid laid = {0};
        const uint8_t size = (uint8_t)sizes_find(&sizes, 2, 2);
        for (int i = 0; i < 2; i++)
            assert_int_equal(laid_add(&laid,
                                      &(Brick){.column = 2 * i,
                                               .columns = 2,
                                               .rows = 2,
                                               .tiers = 1,
                                               .size = size,
                                               .shown = 1},
                                      NULL),
                             0);
        ShelfReport report;
        memory_fail_after(fail);
        const ShelfTask task = {&solid, &grid, &laid, &palette, &sizes, &shelf, NULL};
        const Status status =
            shelf_fit(&task, &target, &(ShelfOptions){.recolour = 1e9, .threads = 1, .voice = NULL},
                      &report, NULL);
        const bool enough = memory_countdown() >= 0;
        memory_fail_after(-1);
        if (enough) {
            assert_int_equal(status, 0);
            assert_int_equal(report.broken, 1);
            assert_int_equal(report.recoloured, 0);
            assert_int_equal(report.lacking, 0);
            assert_int_equal(laid.count, 3);
            laid_clear(&laid);
            return;
        }
        assert_int_equal(status, STATUS_NO_RESOURCE);
        laid_clear(&laid);
    }
}

/* A line changed, a line left out: the check sees both. */
static void the_check_adds_up_too(void **state)
{
    (void)state;
    write_stock(in_room("stock.csv"), 7, 20, 10);
    assert_int_equal(
        shell("rowlock plan coffee.png --columns 30 --dither none --book no --quote no "
              "--stock stock.csv --out k && rowlock check k && "
              "cp k/order.csv order.csv && sed -i 2d k/order.csv && rowlock check k"),
        1);
    assert_non_null(strstr(command_said, "missing, parts.csv buys"));
    assert_int_equal(shell("cp order.csv k/order.csv && rowlock check k && "
                           "sed -i '2s/^\\([^,]*,[^,]*,\\)[0-9]*/\\19999/' k/left.csv && "
                           "rowlock check k"),
                     1);
    assert_non_null(strstr(command_said, "left.csv:2: quantity is 9999, must be"));
}

static int setup(void **state)
{
    char here[PATH_MAX];
    sizes_default(&sizes, 8, 9.6);
    if (command_setup(state) || palette_default(&palette, NULL) || !getcwd(here, sizeof here))
        return -1;
    return shell("cp '%s/tests/data/pictures/coffee.png' .", here);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_brick_is_broken_up),
        cmocka_unit_test(sums_add_up_for_random_stocks),
        cmocka_unit_test(what_is_left_is_a_stock_file),
        cmocka_unit_test(enough_recolouring_buys_nothing),
        cmocka_unit_test(sizes_cost_less_than_a_hundredth_of_the_look),
        cmocka_unit_test(plenty_changes_nothing),
        cmocka_unit_test(stock_only_holds_for_thick_walls),
        cmocka_unit_test(colours_are_searched_for_anew),
        cmocka_unit_test(the_check_adds_up_too),
        cmocka_unit_test(stock_only_says_what_it_cannot_do),
    };
    return cmocka_run_group_tests(tests, setup, command_teardown);
}
