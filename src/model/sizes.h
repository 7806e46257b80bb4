/* Sizes: the brick set. A brick is a plain box one unit high, width x length units
 * on plan; it may be laid either way round. */
#ifndef ROWLOCK_MODEL_SIZES_H
#define ROWLOCK_MODEL_SIZES_H

#include "base/status.h"
#include "base/voice.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum {
    SIZES_MOST = 64,
    SIZE_LONGEST = 64,
    OFFERS_MOST = 512,     /* in all */
    SIZE_OFFERS_MOST = 16, /* of one size */
    SUPPLIERS_MOST = 16,
    NO_SUPPLIER = SUPPLIERS_MOST,
    SUPPLIER_TEXT = 48,
    QUANTITY_MOST = 1000000000 /* bricks */
};

#define MASS_MOST_G 1e6 /* of one brick; what is above is a slip */
#define PRICE_MOST 1e9

typedef struct Size {
    char name[16];     /* "NxM" as the file gives it, N <= M in the built-in set */
    int width, length; /* units, 1 <= width <= length <= SIZE_LONGEST */
    double mass_g;     /* one brick, grams */
    double price;      /* one brick bought alone, in the studio's currency; 0 where unknown */
} Size;

/* What a supplier asks for bricks of a size, of one colour: this price for each, where at least
 * `from` of them are bought, in packs. */
typedef struct SupplyOffer {
    uint8_t size, supplier; /* indices; of who has no name: NO_SUPPLIER */
    long from, pack;        /* at least 1 */
    double price;
} SupplyOffer;

typedef struct Sizes {
    int count;
    bool priced;    /* false: the set gives no prices, price is 0 throughout */
    bool estimated; /* true: some mass is worked out from the brick's shape */
    Size size[SIZES_MOST];
    bool offered; /* the set tells packs, suppliers or price breaks */
    int offers;   /* where it does: all of them, a size's in the order of the file */
    SupplyOffer offer[OFFERS_MOST];
    int suppliers;
    char supplier[SUPPLIERS_MOST][SUPPLIER_TEXT]; /* in the order of the file */
} Sizes;

/* Brick set CSV: size,mass_g,price (the last two may be left out or empty). With a column pack,
 * supplier or from, a size may have several rows: each is an offer, which has a price. */
Status sizes_read(Sizes *sizes_out, const char *path, double pitch_mm, double brick_height_mm,
                  const Voice *voice, Fault *fault);

/* 1x1 1x2 1x3 1x4 1x6 1x8 2x2 2x3 2x4 2x6 2x8, masses estimated, no prices. */
void sizes_default(Sizes *sizes_out, double pitch_mm, double brick_height_mm);

/* "NxM", N and M from 1 to SIZE_LONGEST, digits only; false for anything else. */
bool size_parse(const char *text, int *a_out, int *b_out);

/* Index of the size that is a x b units either way round, or -1. */
int sizes_find(const Sizes *sizes, int a, int b);

/* The name of who makes an offer, or "". */
const char *sizes_supplier(const Sizes *sizes, const SupplyOffer *offer);

/* Units of the largest brick; at least 1. No fewer bricks fill a volume than it takes of
 * these. */
long sizes_largest(const Sizes *sizes);

#endif
