/* Counting parts, against sums by hand. */
#include "base/memory.h"
#include "model/parts.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

static const Sizes sizes = {
    .count = 3,
    .priced = true,
    .size = {{.name = "1x1", .width = 1, .length = 1, .mass_g = 0.4, .price = 0.05},
             {.name = "1x2", .width = 1, .length = 2, .mass_g = 0.8, .price = 0.07},
             {.name = "2x4", .width = 2, .length = 4, .mass_g = 2.5, .price = 0.2}},
};

static Palette palette = {.count = 3};

static void lay_some(Laid *laid, int colour, int size, int count)
{
    const Brick brick = {.colour = (uint8_t)colour, .size = (uint8_t)size};
    for (int i = 0; i < count; i++) assert_int_equal(laid_add(laid, &brick, NULL), STATUS_OK);
}

static Laid some_bricks(void)
{
    Laid laid = {0};
    lay_some(&laid, 2, 0, 7);
    lay_some(&laid, 0, 2, 100);
    lay_some(&laid, 2, 2, 1);
    lay_some(&laid, 0, 1, 20);
    return laid;
}

static void counted_in_palette_and_size_order(void **state)
{
    (void)state;
    Laid laid = some_bricks();
    Parts parts;
    assert_int_equal(
        parts_init(&parts, &(PartsOf){.laid = &laid, .palette = &palette, .sizes = &sizes}, NULL),
        STATUS_OK);
    assert_int_equal(parts.count, 4);
    static const int expected[4][3] = {{0, 1, 20}, {0, 2, 100}, {2, 0, 7}, {2, 2, 1}};
    for (int i = 0; i < 4; i++) {
        assert_int_equal(parts.part[i].colour, expected[i][0]);
        assert_int_equal(parts.part[i].size, expected[i][1]);
        assert_int_equal(parts.part[i].count, expected[i][2]);
        assert_int_equal(parts.part[i].spare, 0);
        assert_int_equal(parts.part[i].to_buy, expected[i][2]);
    }
    assert_int_equal(parts.bricks, 128);
    assert_int_equal(parts.order, 128);
    assert_true(fabs(parts.price - (20 * 0.07 + 101 * 0.2 + 7 * 0.05)) < 1e-9);
    assert_true(fabs(parts.mass_g - (20 * 0.8 + 101 * 2.5 + 7 * 0.4)) < 1e-9);
    parts_clear(&parts);
    laid_clear(&laid);
}

/* 5 % of 100 is 5, of 20 is 1, of 7 rounds up to 1, of 1 to 1. */
static void spare_is_rounded_up(void **state)
{
    (void)state;
    Laid laid = some_bricks();
    Parts parts;
    assert_int_equal(
        parts_init(
            &parts,
            &(PartsOf){.laid = &laid, .palette = &palette, .sizes = &sizes, .spare_percent = 5},
            NULL),
        STATUS_OK);
    static const long spare[] = {1, 5, 1, 1};
    for (int i = 0; i < 4; i++) assert_int_equal(parts.part[i].spare, spare[i]);
    assert_int_equal(parts.order, 136);
    parts_clear(&parts);
    laid_clear(&laid);
}

static void stock_is_taken_off(void **state)
{
    (void)state;
    Laid laid = some_bricks();
    StockLine line[] = {{.colour = 0, .size = 2, .quantity = 60, .pack = 1, .price = 0.3},
                        {.colour = 2, .size = 0, .quantity = 50, .pack = 1, .price = NAN}};
    const Stock stock = {.count = 2, .line = line};
    Parts parts;
    assert_int_equal(parts_init(&parts,
                                &(PartsOf){.laid = &laid,
                                           .palette = &palette,
                                           .sizes = &sizes,
                                           .stock = &stock,
                                           .spare_percent = 10},
                                NULL),
                     STATUS_OK);
    assert_int_equal(parts.part[1].order, 110);
    assert_int_equal(parts.part[1].in_stock, 60);
    assert_int_equal(parts.part[1].to_buy, 50);
    assert_true(fabs(parts.part[1].price - 110 * 0.3) < 1e-9);
    assert_int_equal(parts.part[2].to_buy, 0);
    assert_true(fabs(parts.part[2].price - 8 * 0.05) < 1e-9);
    parts_clear(&parts);
    laid_clear(&laid);
}

static void allocations_fail_in_turn(void **state)
{
    (void)state;
    Laid laid = some_bricks();
    Parts parts;
    Fault fault;
    for (long n = 0; n < 2; n++) {
        memory_fail_after(n);
        assert_int_equal(
            parts_init(
                &parts,
                &(PartsOf){.laid = &laid, .palette = &palette, .sizes = &sizes, .spare_percent = 5},
                &fault),
            STATUS_NO_RESOURCE);
        memory_fail_after(-1);
        parts_clear(&parts);
    }
    laid_clear(&laid);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(counted_in_palette_and_size_order),
        cmocka_unit_test(spare_is_rounded_up),
        cmocka_unit_test(stock_is_taken_off),
        cmocka_unit_test(allocations_fail_in_turn),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
