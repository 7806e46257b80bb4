/* A knapsack that must be filled, by dynamic programming: cost[n] is the least that n bricks cost
 * by the ways so far. A way that is used buys its least quantity, in whole packs, and then pack by
 * pack; so with it n bricks cost its least quantity and what is left of n by the ways before, or a
 * pack and what is left of n with this way again. What one step chose is kept in two bits of each n
 * and way.
 *
 * Source: S. Martello & P. Toth, Knapsack Problems, 1990, 3.6 (unbounded, by dynamic programming);
 * the least quantities are our own addition. */
#include "model/purchase.h"

#include "base/memory.h"

#include <math.h>
#include <string.h>

enum { USED = 1, AGAIN = 2 }; /* of n and way: it is used; a pack more of it, not its first */

/* Sums of prices that differ by less are the same. */
static const double rounding = 1e-12;

Ways purchase_ways(const Sizes *sizes, int size, const StockLine *line)
{
    Ways ways = {0};
    const bool own_price = line && !isnan(line->price);
    for (int i = 0; i < sizes->offers && !own_price; i++) {
        const SupplyOffer *o = &sizes->offer[i];
        if (o->size != size) continue;
        ways.offer[ways.count] = *o;
        if (line && line->pack > 1) ways.offer[ways.count].pack = line->pack;
        ways.count++;
    }
    if (!ways.count)
        ways.offer[ways.count++] =
            (SupplyOffer){.size = (uint8_t)size,
                          .supplier = NO_SUPPLIER,
                          .from = 1,
                          .pack = line ? line->pack : 1,
                          .price = own_price ? line->price : sizes->size[size].price};
    return ways;
}

static long whole_packs(const SupplyOffer *o, long bricks)
{
    return (bricks + o->pack - 1) / o->pack * o->pack;
}

/* The least that can be bought. */
static long first_of(const SupplyOffer *o) { return whole_packs(o, o->from); }

static long left_of(long need, long bought) { return need > bought ? need - bought : 0; }

/* One way more: costs of 0 to need bricks, `with` this way and in all. */
static void add_way(const SupplyOffer *o, long need, double *cost, double *with, uint8_t *chosen)
{
    const long first = first_of(o);
    with[0] = INFINITY;
    for (long n = 1; n <= need; n++) {
        const double begin = cost[left_of(n, first)] + (double)first * o->price;
        const double again =
            n > o->pack ? with[n - o->pack] + (double)o->pack * o->price : INFINITY;
        chosen[n] = again < begin * (1 - rounding) ? AGAIN : 0;
        with[n] = chosen[n] ? again : begin;
    }
    /* Not before: what begins this way has nothing of it before. */
    for (long n = 1; n <= need; n++) {
        if (!(with[n] < cost[n] * (1 - rounding))) continue;
        cost[n] = with[n];
        chosen[n] |= USED;
    }
}

/* Follows the choices back from the whole need; chosen: ways x (need + 1). */
static void read_back(const Ways *ways, long need, const uint8_t *chosen, long *quantity)
{
    long n = need;
    for (int i = ways->count - 1; i >= 0 && n > 0; i--) {
        const SupplyOffer *o = &ways->offer[i];
        const uint8_t *row = chosen + (size_t)i * ((size_t)need + 1);
        quantity[i] = 0;
        if (!(row[n] & USED)) continue;
        for (; row[n] & AGAIN; n -= o->pack) quantity[i] += o->pack;
        quantity[i] += first_of(o);
        n = left_of(n, first_of(o));
    }
}

static Status solve(const Ways *ways, long need, long *quantity, Fault *fault)
{
    const size_t row = (size_t)need + 1;
    double *cost = memory_create(2 * row, sizeof *cost);
    uint8_t *chosen = memory_create((size_t)ways->count * row, 1);
    Status status = STATUS_OK;
    if (cost && chosen) {
        for (size_t n = 1; n < row; n++) cost[n] = INFINITY;
        for (int i = 0; i < ways->count; i++)
            add_way(&ways->offer[i], need, cost, cost + row, chosen + (size_t)i * row);
        read_back(ways, need, chosen, quantity);
    } else {
        status = memory_fault(fault, 2 * row, sizeof *cost);
    }
    memory_free(chosen);
    memory_free(cost);
    return status;
}

Status purchase_cheapest(const Ways *ways, long need, Purchase purchase[SIZE_OFFERS_MOST],
                         int *count, Fault *fault)
{
    long quantity[SIZE_OFFERS_MOST] = {0};
    *count = 0;
    if (need <= 0) return STATUS_OK;
    if (ways->count == 1) {
        const SupplyOffer *o = &ways->offer[0];
        quantity[0] = whole_packs(o, need > o->from ? need : o->from);
    } else {
        const Status status = solve(ways, need, quantity, fault);
        if (status) return status;
    }
    for (int i = 0; i < ways->count; i++) {
        if (!quantity[i]) continue;
        purchase[*count] =
            (Purchase){ways->offer[i], need < quantity[i] ? need : quantity[i], quantity[i]};
        need -= purchase[(*count)++].to_buy;
    }
    return STATUS_OK;
}

double purchase_price(const Purchase *p) { return (double)p->quantity * p->offer.price; }
