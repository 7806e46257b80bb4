/* Photo page: how panels and bricks are photographed, and what 'rowlock inspect' marks. */
#ifndef ROWLOCK_BOOK_PHOTO_PAGE_H
#define ROWLOCK_BOOK_PHOTO_PAGE_H

#include "book/sheet.h"

Status photo_page(Sheet *sheet, Fault *fault);

#endif
