/* Course pages: a wall's panel course by course, each from above and as rows to tick. */
#ifndef ROWLOCK_BOOK_COURSE_PAGES_H
#define ROWLOCK_BOOK_COURSE_PAGES_H

#include "book/sheet.h"

Status course_pages(Sheet *sheet, int panel, Fault *fault);

#endif
