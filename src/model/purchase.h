/* Purchase: the cheapest way to buy so many bricks of a colour and size.
 *
 * Every way has a price for each brick, which holds from a least quantity on, and a pack. Several
 * ways may be used together, as whole packs of a hundred and single bricks for the rest; more is
 * bought than needed where that costs less. No combination of the ways costs less than the one
 * that is found. */
#ifndef ROWLOCK_MODEL_PURCHASE_H
#define ROWLOCK_MODEL_PURCHASE_H

#include "model/sizes.h"
#include "model/stock.h"

typedef struct Purchase {
    SupplyOffer offer;
    long to_buy;   /* of the need, the bricks that this covers, at least 1 */
    long quantity; /* bricks bought: whole packs, at least the offer's `from` */
} Purchase;

/* The ways to buy a part. */
typedef struct Ways {
    int count; /* at least 1 */
    SupplyOffer offer[SIZE_OFFERS_MOST];
} Ways;

/* The price and pack of the part's line in stock come before what the brick set says of its size.
 * line: NULL where there is none. */
Ways purchase_ways(const Sizes *sizes, int size, const StockLine *line);

/* What to buy for `need` bricks, in the order of the ways; of equal prices the fewer ways, and
 * those that come first. Fault: no memory. */
Status purchase_cheapest(const Ways *ways, long need, Purchase purchase_out[SIZE_OFFERS_MOST],
                         int *count_out, Fault *fault);

double purchase_price(const Purchase *purchase);

#endif
