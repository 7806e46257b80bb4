/* End pages: the part list, and the key of colours. */
#ifndef ROWLOCK_BOOK_END_PAGES_H
#define ROWLOCK_BOOK_END_PAGES_H

#include "book/sheet.h"

Status end_pages(Sheet *sheet, Fault *fault);

#endif
