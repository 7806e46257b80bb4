/* Chart sheet: a chart's geometry set on paper: bricks with joints between them, ids,
 * symbols, numbers at the edges, a heavier line every ten cells, weak places. */
#ifndef ROWLOCK_BOOK_CHART_SHEET_H
#define ROWLOCK_BOOK_CHART_SHEET_H

#include "book/chart.h"
#include "book/sheet.h"

typedef struct ChartLook {
    double x, y;          /* upper left corner of the field, mm */
    double width, height; /* of a cell, mm */
    Window window;
    int column, row;     /* numbers in the mural, from 0, of u = 0 and v = 0 */
    bool downward;       /* v grows downward: a course from above, its front below */
    bool counted;        /* bricks carry their place in the laying order, not symbols */
    size_t counted_from; /* the brick that is 1 */
    bool standing;       /* bricks that stand already are pale, as those below */
    const Boxes *below;  /* bricks of the layer below, in grey; or NULL */
    int panel, layer;    /* for the weak places; layer -1: a wall's front */
    double spared;       /* of the ink of fills, 0 to 1; if any is, hidden bricks have none */
} ChartLook;

/* Room outside the field for numbers, mm. */
#define CHART_SIDE 8.5
#define CHART_EDGE 4.5
/* The least width of a cell, mm, in which a brick's id and symbol can be read. */
double chart_least_cell(double aspect);

/* The same where its id alone is to be read. */
double chart_least_id(double aspect);

/* The length rounded down to an eighth of a point. Such lengths are short decimal numbers in the
 * file, and numbers are most of a chart's bytes. */
double chart_snap(double length_mm);

/* The ink of a chart's fills, of the sheet's, which black all over would be 1. */
double chart_fills(const Sheet *sheet, const ChartLook *look, const Boxes *boxes);

/* How much of such ink the charts of a sheet spare so that together they take no more than
 * CHART_INK; nothing is printed stronger than CHART_STRONGEST. Lines and letters come on top:
 * together the 76 charts of the demonstration's relief take 7 % in the mean, 12 % at most. */
#define CHART_INK 0.052
#define CHART_STRONGEST 0.4 /* black type is read on any colour that is so pale: by eye */
double chart_spared(double fills);

/* The look's lengths should be snapped. */
Status chart_draw(const Sheet *sheet, const ChartLook *look, const Boxes *boxes, Fault *fault);

/* The flaws of a panel in the structure's report: [*first, *first + *count). */
void chart_flaws(const Mural *mural, int panel, size_t *first, size_t *count);

#endif
