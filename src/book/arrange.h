/* Arrange: several small charts on one sheet. Geometry only; nothing is drawn here. */
#ifndef ROWLOCK_BOOK_ARRANGE_H
#define ROWLOCK_BOOK_ARRANGE_H

#include <stdbool.h>

enum { ARRANGED_MOST = 8 }; /* charts of a sheet: more are not told apart at a glance */

/* A chart and the room that it takes: its cells, numbers on all sides, a title above. */
typedef struct ArrangedChart {
    int us, vs;   /* cells */
    double title; /* width of its title, mm */
    double x, y;  /* out: upper left corner of the title, mm from that of the sheet's room */
} ArrangedChart;

typedef struct Arrangement {
    ArrangedChart chart[ARRANGED_MOST];
    int count;
    double width, height; /* of the sheet's room, mm */
    double corner;        /* mm of the first line that the sheet needs at its right */
    double aspect;        /* a cell's height by its width */
    double least, most;   /* of a cell's width, mm */
    double cell;          /* out: a cell's width, mm, the same in all charts */
} Arrangement;

/* The title's room above a chart. */
#define ARRANGED_HEAD 6.5 /* mm: by eye */

/* Sets the charts in their order, one below another in columns, columns beside each other in bands,
 * with the largest cells that have room. False where there is no room for the least cells. */
bool arrange_charts(Arrangement *a);

#endif
