/* Verdict: the promises of a plan, and a line for each place where one is broken.
 *
 * Lines are handed on as they are found; after the first few of one promise the rest
 * are only counted, and verdict_close says how many. */
#ifndef ROWLOCK_CHECK_VERDICT_H
#define ROWLOCK_CHECK_VERDICT_H

#include <stddef.h>

typedef enum Promise {
    PROMISE_KEYS,       /* plan.json holds every key, of its type and range */
    PROMISE_COLOURS,    /* each colour's hex is its Lab in sRGB */
    PROMISE_LISTED,     /* files are those of the plan */
    PROMISE_DIGESTS,    /* and have the digests that plan.json gives */
    PROMISE_READABLE,   /* pictures and books are what their names say */
    PROMISE_CELLS,      /* cells.png and its like fit the plan */
    PROMISE_FIELDS,     /* tables have their columns, values are of their kind */
    PROMISE_PANELS,     /* panels tile the mural, with true sizes and sums */
    PROMISE_INSIDE,     /* bricks lie inside mural, panel and solid */
    PROMISE_SIZES,      /* bricks have their size's extent */
    PROMISE_OVERLAP,    /* bricks do not overlap */
    PROMISE_FILLED,     /* bricks fill the solid */
    PROMISE_FACE,       /* bricks have the colour of the cells that they show */
    PROMISE_SHOWN,      /* the shown flag is right */
    PROMISE_ROWS,       /* rows.csv is the bricks in building order */
    PROMISE_PARTS,      /* parts.csv is the bricks, counted */
    PROMISE_DIFFERENCE, /* difference.csv is the bricks, counted, and adds up */
    PROMISE_ORDERS,     /* order.csv and left.csv add up with parts.csv */
    PROMISE_PAGE,       /* book.html holds the bricks and nothing else */
    PROMISE_MODEL,      /* relief.glb is the bricks */
    PROMISE_HOLDS,      /* every panel is one joined piece, every brick rests on something */
    PROMISE_BOND,       /* what is said of joints, pieces and weak places is so */
    PROMISE_FORCES,     /* what joints take, and hold against a touch, is so */
    PROMISE_MEASURES,   /* measures of plan.json are those of the bricks */
    PROMISE_TOGETHER,   /* tables of a show are those of its murals together */
    PROMISES
} Promise;

enum { VERDICT_SHOWN = 8 }; /* lines of one promise that are handed on */

typedef struct Verdict {
    void (*broken)(void *self, const char *line); /* may be NULL */
    void *self;
    size_t count[PROMISES];
} Verdict;

/* One line, "FILE:LINE: PLACE: WHAT", without a line end. */
void verdict_broken(Verdict *verdict, Promise promise, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* Says what was only counted; returns how many places were found in all. */
size_t verdict_close(Verdict *verdict);

#endif
