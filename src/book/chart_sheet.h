/* Chart sheet: a chart's geometry set on paper: bricks with joints between them, ids,
 * symbols, numbers at the edges, a heavier line every ten cells, weak places. */
#ifndef ROWLOCK_BOOK_CHART_SHEET_H
#define ROWLOCK_BOOK_CHART_SHEET_H

#include "book/chart.h"
#include "book/sheet.h"

/* How charts are printed so that their sheet takes no more ink than it may. */
typedef struct ChartTone {
    double spared; /* of the ink of fills, 0 to 1; if any is, hidden bricks have none */
    bool light;    /* ids are in regular type, not in bold */
} ChartTone;

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
    ChartTone tone;
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

/* What charts take of their sheet's ink, which black all over would be 1. */
typedef struct ChartInk {
    double fills;         /* of bricks in their full colours */
    double lines, labels; /* roughly; labels in bold */
} ChartInk;

/* Adds a chart's. */
void chart_ink(const Sheet *sheet, const ChartLook *look, const Boxes *boxes, ChartInk *sum);

/* The tone of a sheet's charts: fills take no more than CHART_FILLS, and less where with lines and
 * labels the sheet would have more than CHART_INK, to which its heads and lists come; labels are
 * light where in bold they would leave too little for fills. No fill is printed stronger than
 * CHART_STRONGEST. */
#define CHART_FILLS 0.052
#define CHART_INK 0.095
#define CHART_FILLS_LEAST 0.012 /* colours are still told from white: by eye */
#define CHART_STRONGEST 0.4     /* black type is read on any colour that is so pale: by eye */
ChartTone chart_tone(const ChartInk *ink);

/* The look's lengths should be snapped. */
Status chart_draw(const Sheet *sheet, const ChartLook *look, const Boxes *boxes, Fault *fault);

/* The flaws of a panel in the structure's report: [*first, *first + *count). */
void chart_flaws(const Mural *mural, int panel, size_t *first, size_t *count);

#endif
