/* Stock: what lies on the shelves, by colour and size. */
#ifndef ROWLOCK_MODEL_STOCK_H
#define ROWLOCK_MODEL_STOCK_H

#include "model/palette.h"
#include "model/sizes.h"

typedef struct StockLine {
    int colour, size; /* indices into the palette and the brick set */
    long quantity;    /* bricks */
    long pack;        /* bricks a pack when bought, 1 unless told */
    double price;     /* one brick; NAN: the brick set's price holds */
} StockLine;

typedef struct Stock {
    size_t count;
    StockLine *line; /* at most one for each colour and size */
} Stock;

/* What a colour is that the palette does not have. */
typedef enum StockColours {
    STOCK_OWN,   /* a mistake in the file: a fault */
    STOCK_OTHERS /* of another palette beside this one: left out with a note */
} StockColours;

/* What the words of a stock file stand for; borrowed. */
typedef struct StockWords {
    const Palette *palette;
    const Sizes *sizes;
    StockColours colours;
} StockWords;

/* Stock CSV: colour,size,quantity,price (and pack, where there is one). Lines of sizes
 * that the brick set does not have are noted and left out; a colour and size twice is a
 * fault. */
Status stock_read(Stock *stock_out, const char *path, const StockWords *words, const Voice *voice,
                  Fault *fault);
void stock_clear(Stock *stock);

/* The line of this colour and size, or NULL. */
const StockLine *stock_find(const Stock *stock, int colour, int size);

#endif
