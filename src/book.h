/* Book: the build book as a PDF, page by page: front pages, panels, handling, end pages. */
#ifndef ROWLOCK_BOOK_H
#define ROWLOCK_BOOK_H

#include "mural.h"
#include "status.h"
#include "voice.h"

/* Creates `path`; on a fault there is no file. */
Status book_write(const Mural *mural, const char *path, const Voice *voice, Fault *fault);

#endif
