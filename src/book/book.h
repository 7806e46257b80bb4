/* Book: the build book as a PDF, page by page: front pages, panels, handling, end pages. Where the
 * job wants each panel's pages as a file, the book has all others. */
#ifndef ROWLOCK_BOOK_BOOK_H
#define ROWLOCK_BOOK_BOOK_H

#include "base/status.h"
#include "base/voice.h"
#include "figures/mural.h"

/* Creates `path`; on a fault there is no file. */
Status book_write(const Mural *mural, const char *path, const Voice *voice, Fault *fault);

/* Whether the panel has pages: not if all of it stands. */
bool panel_has_book(const Mural *mural, int panel);
/* Creates "r1c1.pdf" in the folder for each panel that has pages: these, and the key to its
 * colours. On a fault the last is not there. */
Status panel_books_write(const Mural *mural, const char *folder, const Voice *voice, Fault *fault);

#endif
