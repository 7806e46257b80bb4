/* Handling pages: what goes with the panels once they are built: a sheet of labels to cut,
 * one a panel in the order of hanging; the crates and what stands in each; the cautions that
 * concern lifting, packing and hanging this mural. */
#ifndef ROWLOCK_BOOK_HANDLING_PAGES_H
#define ROWLOCK_BOOK_HANDLING_PAGES_H

#include "book/sheet.h"

Status handling_pages(Sheet *sheet, Fault *fault);

#endif
