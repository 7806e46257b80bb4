/* Bags: what is picked before a panel is built, one bag a colour, as a table to tick. */
#ifndef ROWLOCK_BOOK_BAGS_H
#define ROWLOCK_BOOK_BAGS_H

#include "book/sheet.h"
#include "model/sizes.h"

/* How close the table is set. */
typedef enum BagLook {
    BAGS_ROOMY,
    BAGS_CLOSE,   /* the same on fewer lines */
    BAGS_NAMELESS /* and without the names of colours, which the colour key has */
} BagLook;

/* The bags of a panel, and where their table goes. */
typedef struct Bags {
    Sheet *sheet;
    const long *count; /* [colour][size], SIZES_MOST sizes a colour: what is to be laid */
    const char *head;  /* of the page on which they go on */
    BagLook look;
    double x, width, top; /* of the first column's lines; small heads stand above */
    bool go_on;           /* out: there is such a page, */
    double end;           /* out: and the lines end here */
} Bags;

/* Lines of all bags in one column, mm. */
double bags_height(const Bags *bags);
/* Draws the table: what has no room below goes into columns at the right, and on the next page. */
Status bags_draw(Bags *bags, Fault *fault);

#endif
