#include "support/faults.h"

#include "model/stock.h"

#include <math.h>
#include <stdlib.h>

static const char *scratch;
static Palette palette;
static Sizes sizes;

static Status read_stock(const char *path, Fault *fault)
{
    Stock stock = {0};
    Status status =
        stock_read(&stock, path, &(StockWords){&palette, &sizes, STOCK_OWN}, NULL, fault);
    if (!status) stock_clear(&stock);
    return status;
}

static int set_up(void **state)
{
    static const char text[] =
        "id,name,hex\nA1,red,#c03020\nA2,blue,#2040a0\n\xc3\x84,grey,#808080\n";
    (void)state;
    sizes_default(&sizes, 8.0, 9.6);
    return (int)palette_parse(&palette, text, strlen(text), "palette", NULL, NULL);
}

static void read_by_hand(void **state)
{
    (void)state;
    static const char text[] = "size,colour,quantity,pack,price,shelf\r\n"
                               "2x1,\xc3\x84,120,50,0.12,upper\r\n"
                               "1x1,A2,0,,,\r\n"
                               "3x3,A2,7,,,\r\n"
                               "1x1,A1,1000000000,1,0,\r\n"
                               "5x5,A1,7,,,\r\n";
    Notes notes = {""};
    const Voice voice = {.self = &notes, .note = take_note};
    Stock stock;
    Fault fault = {0};
    write_file(scratch, text, strlen(text));
    assert_int_equal(
        stock_read(&stock, scratch, &(StockWords){&palette, &sizes, STOCK_OWN}, &voice, &fault),
        STATUS_OK);
    assert_int_equal(stock.count, 3);
    const StockLine *line = stock_find(&stock, 2, sizes_find(&sizes, 1, 2));
    assert_non_null(line);
    assert_int_equal(line->quantity, 120);
    assert_int_equal(line->pack, 50);
    assert_true(line->price == 0.12);
    line = stock_find(&stock, 1, 0);
    assert_non_null(line);
    assert_int_equal(line->quantity, 0);
    assert_int_equal(line->pack, 1);
    assert_true(isnan(line->price));
    line = stock_find(&stock, 0, 0);
    assert_non_null(line);
    assert_int_equal(line->quantity, 1000000000);
    assert_true(line->price == 0.0);
    assert_null(stock_find(&stock, 0, 1));
    assert_null(stock_find(&stock, 3, 0));
    assert_non_null(strstr(notes.text, ":4: size 3x3 is not in the brick set; left out 2 lines"));
    assert_non_null(strstr(notes.text, "left out: shelf"));
    stock_clear(&stock);
    stock_clear(&stock); /* twice does no harm */
}

/* Colours of another palette are a fault where there is but one, else left out. */
static void colours_of_others(void **state)
{
    (void)state;
    static const char text[] = "colour,size,quantity\nZ9,1x1,4\nA1,1x2,5\nZ8,9x9,3\n";
    Notes notes = {""};
    const Voice voice = {.self = &notes, .note = take_note};
    Stock stock = {0};
    Fault fault = {0};
    write_file(scratch, text, strlen(text));
    assert_int_equal(
        stock_read(&stock, scratch, &(StockWords){&palette, &sizes, STOCK_OWN}, &voice, &fault),
        STATUS_DATA);
    assert_non_null(strstr(fault.text, ":2:1: the palette has no colour 'Z9'"));
    assert_int_equal(
        stock_read(&stock, scratch, &(StockWords){&palette, &sizes, STOCK_OTHERS}, &voice, &fault),
        STATUS_OK);
    assert_int_equal(stock.count, 1);
    assert_non_null(stock_find(&stock, 0, sizes_find(&sizes, 1, 2)));
    assert_non_null(strstr(notes.text, ":2: colour Z9 is not in the palette; left out 2 lines"));
    stock_clear(&stock);
}

/* Every pair found, against the list that was written, in a shuffled order. */
static void every_pair(void **state)
{
    (void)state;
    char text[4096] = "colour,size,quantity\n";
    const int pairs = palette.count * sizes.count; /* 33 */
    for (int i = 0; i < pairs; i++) {
        const int pair = i * 7 % pairs; /* 7 and 33 have no common divisor */
        const int colour = pair / sizes.count, size = pair % sizes.count;
        if (pair % 5 == 0) continue;
        sprintf(text + strlen(text), "%s,%s,%d\n", palette.colour[colour].id, sizes.size[size].name,
                pair);
    }
    Stock stock;
    Fault fault = {0};
    write_file(scratch, text, strlen(text));
    assert_int_equal(
        stock_read(&stock, scratch, &(StockWords){&palette, &sizes, STOCK_OWN}, NULL, &fault),
        STATUS_OK);
    for (int pair = 0; pair < pairs; pair++) {
        const StockLine *line = stock_find(&stock, pair / sizes.count, pair % sizes.count);
        if (pair % 5 == 0) assert_null(line);
        if (pair % 5 != 0) assert_int_equal(line->quantity, pair);
    }
    stock_clear(&stock);
}

static void nothing_in_stock(void **state)
{
    (void)state;
    Stock stock;
    Fault fault = {0};
    write_file(scratch, "colour,size,quantity\n", 21);
    assert_int_equal(
        stock_read(&stock, scratch, &(StockWords){&palette, &sizes, STOCK_OWN}, NULL, &fault),
        STATUS_OK);
    assert_int_equal(stock.count, 0);
    assert_null(stock_find(&stock, 0, 0));
    stock_clear(&stock);
}

static void bad_files(void **state)
{
    (void)state;
    static const Bad bad[] = {
        {"stock-colour-column-missing.csv", "1", "column colour"},
        {"stock-size-column-missing.csv", "1", "column size"},
        {"stock-quantity-column-missing.csv", "1", "column quantity"},
        {"stock-colour-unknown.csv", "3:1", "'B9'"},
        {"stock-not-a-size.csv", "2:4", "'brick'"},
        {"stock-quantity-negative.csv", "2:8", "-10"},
        {"stock-quantity-part.csv", "2:8", "whole"},
        {"stock-quantity-empty.csv", "2:8", "empty"},
        {"stock-quantity-enormous.csv", "2:8", "1e30"},
        {"stock-price-negative.csv", "2:11", "-0.1"},
        {"stock-pack-zero.csv", "2:11", "from 1"},
        {"stock-twice.csv", "4:1", "line 2"},
    };
    check_bad_files(bad, sizeof bad / sizeof *bad, "stock-", read_stock);
}

static void each_allocation(void **state)
{
    (void)state;
    static const char text[] = "colour,size,quantity\nA1,1x1,5\nA2,2x2,6\n";
    write_file(scratch, text, strlen(text));
    fail_each_allocation(read_stock, scratch);
}

int main(int count, char **arguments)
{
    char path[512];
    (void)count;
    snprintf(path, sizeof path, "%s.csv", arguments[0]);
    scratch = path;
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(read_by_hand), cmocka_unit_test(colours_of_others),
        cmocka_unit_test(every_pair),   cmocka_unit_test(nothing_in_stock),
        cmocka_unit_test(bad_files),    cmocka_unit_test(each_allocation),
    };
    return cmocka_run_group_tests(tests, set_up, NULL);
}
