/* Kit card: what one visitor builds: its picture, its bag of parts, its place on the wall,
 * a line for the builder's name, its chart. Cards stand two to a page on half sheets that are
 * cut apart; a card that needs more goes on over the next half sheets.
 *
 * A card is a panel: laying keeps to the edges of panels, so no brick crosses a card's. */
#ifndef ROWLOCK_BOOK_KIT_CARD_H
#define ROWLOCK_BOOK_KIT_CARD_H

#include "book/sheet.h"

/* A panel's bricks, counted. */
typedef struct Bag {
    long *count; /* [colour * SIZES_MOST + size] */
    long bricks;
    int kinds, colours; /* that are in it */
} Bag;

Status bag_create(Bag *bag_out, const Mural *mural, int panel, Fault *fault);
void bag_clear(Bag *bag);

/* One line of a bag: so many bricks of a colour and size. */
typedef struct BagLine {
    int colour, size;
    long count;
} BagLine;
/* The next line after *line, in palette order; begin with colour 0, size -1. */
bool bag_next(const Bag *bag, const Mural *mural, BagLine *line);

/* The half sheets of the pages. While one is in hand the sheet's margins are those of the half. */
typedef struct Halves {
    Sheet *sheet;
    const Raster *pale[2]; /* the ground of each side's map: a page must not show one
                            * picture twice, since cairo 1.16 then names it twice */
    double left, right;    /* the page's own margins */
    int side;              /* in hand: 0 left, 1 right, -1 none */
} Halves;

void halves_init(Halves *halves, Sheet *sheet, const Raster *left, const Raster *right);
/* The next half sheet; `left` skips a right one. */
Status halves_next(Halves *halves, bool left, Fault *fault);
/* Gives the sheet its margins back. */
void halves_end(Halves *halves);

/* The mural's caution of small parts; NULL where none of its parts is small. */
const char *small_parts_caution(const Mural *mural);

Status kit_card(Halves *halves, int panel, Fault *fault);

#endif
