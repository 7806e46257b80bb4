/* Panel pages: what one panel is built from: its place and mass, the bags to pick, its
 * charts, and its rows as lists. */
#ifndef ROWLOCK_BOOK_PANEL_PAGES_H
#define ROWLOCK_BOOK_PANEL_PAGES_H

#include "book/sheet.h"

Status panel_pages(Sheet *sheet, int panel, Fault *fault);

#endif
