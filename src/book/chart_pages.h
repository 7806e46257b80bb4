/* Chart pages: a panel's charts: of a plaque its tiers, of a wall its front. */
#ifndef ROWLOCK_BOOK_CHART_PAGES_H
#define ROWLOCK_BOOK_CHART_PAGES_H

#include "book/sheet.h"

Status chart_pages(Sheet *sheet, int panel, Fault *fault);

/* The chart of a plaque's panel that has only one, at the right of a sheet that has more on it. */
typedef struct OnlyChart {
    int tier;     /* from 0 */
    double cell;  /* width, mm */
    double width; /* of the chart with its numbers, mm */
} OnlyChart;

/* False where the panel has several charts, wants lists, or where its cells would be too small
 * beside `beside` mm of a sheet as it is laid out. */
bool only_chart(const Sheet *sheet, int panel, double beside, OnlyChart *chart_out);
/* Its title, at the left margin and no wider, and which way it is up; the sheet's y stays. */
void only_chart_title(Sheet *sheet, int panel, const OnlyChart *chart, double y, double width);
Status only_chart_draw(Sheet *sheet, int panel, const OnlyChart *chart, Fault *fault);

#endif
