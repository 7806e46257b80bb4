/* Front pages: the cover with the quote, the cautions, how to read a chart, and the map of
 * panels. */
#ifndef ROWLOCK_BOOK_FRONT_PAGES_H
#define ROWLOCK_BOOK_FRONT_PAGES_H

#include "book/sheet.h"

Status front_pages(Sheet *sheet, Fault *fault);

#endif
