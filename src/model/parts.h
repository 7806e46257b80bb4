/* Parts: how many bricks of each colour and size, what is on the shelf, what to buy. */
#ifndef ROWLOCK_MODEL_PARTS_H
#define ROWLOCK_MODEL_PARTS_H

#include "model/laid.h"
#include "model/palette.h"
#include "model/purchase.h"

typedef struct Part {
    int colour, size;  /* indices */
    long count;        /* in the mural */
    long built;        /* of these, bricks that stand already */
    long spare;        /* over and above what is still to be built */
    long order;        /* count - built + spare */
    long in_stock;     /* on the shelf */
    long to_buy;       /* order less in_stock, never below 0 */
    int purchase;      /* index of the first, and */
    int purchases;     /* how many ways it is bought in */
    long bought;       /* to_buy, as it is sold: in whole packs, or more where that is cheaper */
    double unit_price; /* of one brick: on the mean of those bought, where any are */
    double price;      /* of `order` bricks */
    double mass_g;     /* of `count` bricks */
} Part;

typedef struct Parts {
    int count; /* only what the mural uses, by palette order, then size order */
    Part *part;
    Purchase *purchase; /* part by part */
    int purchases;
    long bricks, built, order; /* sums */
    double price, mass_g;
    long bought;
    double outlay; /* price of what is bought */
} Parts;

/* Bricks by colour, then size: colours x sizes, the caller's to free. */
Status parts_count(const Laid *laid, int colours, int sizes, long **count_out, Fault *fault);

/* Bricks of the laying that are still to come. */
static inline long part_to_come(const Part *part) { return part->count - part->built; }

/* What parts are counted from; all is borrowed. */
typedef struct PartsOf {
    const Laid *laid;
    const Laid *standing; /* bricks of it that stand, for which nothing is ordered; NULL: none */
    const Palette *palette;
    const Sizes *sizes;
    const Stock *stock;   /* what is on the shelf; NULL: nothing */
    double spare_percent; /* added to each line, rounded up; at least 1 where it is above 0 */
} PartsOf;

/* Faults: no memory. */
Status parts_init(Parts *parts_out, const PartsOf *of, Fault *fault);
void parts_clear(Parts *parts);

/* What is bought of a supplier, or NO_SUPPLIER: bricks, and their price. */
long parts_supplied(const Parts *parts, int supplier, double *outlay_out);

/* How many colours the mural's bricks have. */
int parts_colours(const Parts *parts);

#endif
