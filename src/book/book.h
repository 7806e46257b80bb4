/* Book: the build book as a PDF, page by page: front pages, panels, handling, end pages. */
#ifndef ROWLOCK_BOOK_BOOK_H
#define ROWLOCK_BOOK_BOOK_H

#include "base/status.h"
#include "base/voice.h"
#include "figures/mural.h"

/* Creates `path`; on a fault there is no file. */
Status book_write(const Mural *mural, const char *path, const Voice *voice, Fault *fault);

#endif
