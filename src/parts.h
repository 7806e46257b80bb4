/* Parts: how many bricks of each colour and size, what is on the shelf, what to buy. */
#ifndef ROWLOCK_PARTS_H
#define ROWLOCK_PARTS_H

#include "laid.h"
#include "palette.h"
#include "sizes.h"
#include "stock.h"

typedef struct Part {
    int colour, size;  /* indices */
    long count;        /* in the mural */
    long spare;        /* over and above */
    long order;        /* count + spare */
    long in_stock;     /* on the shelf */
    long to_buy;       /* order less in_stock, never below 0 */
    long pack;         /* bricks a pack */
    long bought;       /* to_buy, rounded up to whole packs */
    double unit_price; /* of one brick */
    double price;      /* of `order` bricks */
    double mass_g;     /* of `count` bricks */
} Part;

typedef struct Parts {
    int count; /* only what the mural uses, by palette order, then size order */
    Part *part;
    long bricks, order; /* sums */
    double price, mass_g;
    long bought;
    double outlay; /* price of what is bought */
} Parts;

/* spare_percent is added to each line, rounded up; at least 1 where it is above 0. */
Status parts_init(Parts *parts_out, const Laid *laid, const Palette *palette, const Sizes *sizes,
                  const Stock *stock, double spare_percent, Fault *fault);
void parts_clear(Parts *parts);

#endif
