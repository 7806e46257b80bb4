/* Show binding: the show's own pages and the murals' books as one file. */
#ifndef ROWLOCK_SHOW_SHOW_BINDING_H
#define ROWLOCK_SHOW_SHOW_BINDING_H

#include "show/show_facts.h"

enum { BOOK_NAME = SHOW_NAME + 16 };

/* The mural's book from the show's folder, "cup/book.pdf"; false: its book is off. */
bool show_binding_book(const ShowMural *mural, char name_out[BOOK_NAME]);

/* Binds the pages in the file `own` and the books of all murals that have one, in the order of the
 * file, to path, and fills in facts->pages. Faults: those of pdf_bind. */
Status show_binding_write(const ShowFacts *facts, const char *own, const char *path,
                          const Voice *voice, Fault *fault);

#endif
