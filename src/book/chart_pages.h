/* Chart pages: a panel's charts: of a plaque its tiers, of a wall its front. */
#ifndef ROWLOCK_BOOK_CHART_PAGES_H
#define ROWLOCK_BOOK_CHART_PAGES_H

#include "book/sheet.h"

Status chart_pages(Sheet *sheet, int panel, Fault *fault);

#endif
