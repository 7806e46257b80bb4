/* Quote page: quote.pdf, the quote on one page for a client. */
#ifndef ROWLOCK_BOOK_QUOTE_PAGE_H
#define ROWLOCK_BOOK_QUOTE_PAGE_H

#include "base/voice.h"
#include "figures/quote.h"

/* On a fault there is no file. */
Status quote_page_write(const Mural *mural, const char *path, const Voice *voice, Fault *fault);

#endif
