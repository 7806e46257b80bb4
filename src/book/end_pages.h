/* End pages: the part list, and the key of colours. */
#ifndef ROWLOCK_BOOK_END_PAGES_H
#define ROWLOCK_BOOK_END_PAGES_H

#include "book/sheet.h"

Status end_pages(Sheet *sheet, Fault *fault);

/* The key of colours by itself; only: a flag for each colour that is to be in it, NULL: all in use.
 */
Status key_pages(Sheet *sheet, const bool *only, Fault *fault);

#endif
