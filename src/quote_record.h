/* Quote record: quote.json, the quote's figures for other programs to read. */
#ifndef ROWLOCK_QUOTE_RECORD_H
#define ROWLOCK_QUOTE_RECORD_H

#include "quote.h"

Status quote_record_write(const Mural *mural, const char *path, Fault *fault);

#endif
