/* What is bought where, against every way of buying it, and against sums by hand. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/memory.h"
#include "model/purchase.h"
#include "support/chance.h"

#include <math.h>

static double price_of(const Purchase *purchase, int count)
{
    double sum = 0;
    for (int i = 0; i < count; i++) sum += purchase_price(&purchase[i]);
    return sum;
}

/* The least that `need` bricks cost by the ways from `way` on, whatever each is used for. */
static double by_brute_force(const Ways *ways, int way, long need)
{
    if (need <= 0) return 0;
    if (way == ways->count) return INFINITY;
    const SupplyOffer *o = &ways->offer[way];
    double best = by_brute_force(ways, way + 1, need);
    for (long packs = 1; (packs - 1) * o->pack < (need > o->from ? need : o->from); packs++) {
        const long bricks = packs * o->pack;
        if (bricks < o->from) continue;
        const double price =
            (double)bricks * o->price + by_brute_force(ways, way + 1, need - bricks);
        if (price < best) best = price;
    }
    return best;
}

static void as_cheap_as_any_other_way(void **state)
{
    (void)state;
    uint32_t seed = 1;
    int several = 0, beyond = 0;
    for (int round = 0; round < 400; round++) {
        Ways ways = {.count = 1 + (int)(chance(&seed) % 4)};
        for (int i = 0; i < ways.count; i++)
            ways.offer[i] =
                (SupplyOffer){.from = 1 + (long)(chance(&seed) % 3 * (chance(&seed) % 20)),
                              .pack = 1 + (long)(chance(&seed) % 12),
                              .price = (1 + chance(&seed) % 40) / 8.0};
        const long need = 1 + (long)(chance(&seed) % 45);
        Purchase purchase[SIZE_OFFERS_MOST];
        int count;
        assert_int_equal(purchase_cheapest(&ways, need, purchase, &count, NULL), STATUS_OK);
        /* Prices are eighths, so sums are exact. */
        assert_true(price_of(purchase, count) == by_brute_force(&ways, 0, need));
        long covered = 0, bought = 0;
        for (int i = 0; i < count; i++) {
            const Purchase *p = &purchase[i];
            assert_true(p->to_buy >= 1 && p->quantity >= p->to_buy);
            assert_true(p->quantity % p->offer.pack == 0 && p->quantity >= p->offer.from);
            covered += p->to_buy;
            bought += p->quantity;
        }
        assert_int_equal(covered, need);
        several += count > 1;
        beyond += bought > need + 12;
    }
    assert_true(several > 20 && beyond > 5);
}

/* 95 bricks at 0.10 are dearer than 100 at 0.08; 107 are a pack of 100 and seven single ones. */
static void by_hand(void **state)
{
    (void)state;
    Purchase p[SIZE_OFFERS_MOST];
    int count;
    const Ways breaks = {
        2, {{.from = 1, .pack = 1, .price = 0.10}, {.from = 100, .pack = 1, .price = 0.08}}};
    assert_int_equal(purchase_cheapest(&breaks, 95, p, &count, NULL), 0);
    assert_true(count == 1 && p[0].quantity == 100 && p[0].to_buy == 95 && p[0].offer.from == 100);
    assert_int_equal(purchase_cheapest(&breaks, 80, p, &count, NULL), 0);
    assert_true(count == 1 && p[0].quantity == 80); /* the same price: fewer bricks */
    const Ways packs = {
        2, {{.from = 1, .pack = 100, .price = 0.05}, {.from = 1, .pack = 1, .price = 0.10}}};
    assert_int_equal(purchase_cheapest(&packs, 107, p, &count, NULL), 0);
    assert_true(count == 2 && p[0].quantity == 100 && p[1].quantity == 7 && p[1].to_buy == 7);
    assert_int_equal(purchase_cheapest(&packs, 0, p, &count, NULL), 0);
    assert_int_equal(count, 0);
    for (long n = 0; n < 2; n++) {
        memory_fail_after(n);
        assert_int_equal(purchase_cheapest(&packs, 107, p, &count, NULL), STATUS_NO_RESOURCE);
    }
    memory_fail_after(-1);
}

/* The price of a line in stock, and its pack, come before what the set says. */
static void a_line_in_stock_has_its_price(void **state)
{
    (void)state;
    const Sizes sizes = {
        .count = 1,
        .offered = true,
        .size = {{.name = "1x1", .price = 0.3}},
        .offers = 2,
        .offer = {{.from = 1, .pack = 10, .price = 0.2}, {.from = 50, .pack = 10, .price = 0.1}}};
    StockLine line = {.pack = 1, .price = NAN};
    assert_int_equal(purchase_ways(&sizes, 0, NULL).count, 2);
    assert_int_equal(purchase_ways(&sizes, 0, &line).offer[1].pack, 10);
    line.pack = 25;
    assert_int_equal(purchase_ways(&sizes, 0, &line).offer[1].pack, 25);
    line.price = 0.05;
    const Ways own = purchase_ways(&sizes, 0, &line);
    assert_true(own.count == 1 && own.offer[0].price == 0.05 && own.offer[0].pack == 25);
    assert_int_equal(own.offer[0].supplier, NO_SUPPLIER);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(as_cheap_as_any_other_way),
        cmocka_unit_test(by_hand),
        cmocka_unit_test(a_line_in_stock_has_its_price),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
