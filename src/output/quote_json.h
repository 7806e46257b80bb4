/* Quote json: quote.json, the quote's figures for other programs to read. */
#ifndef ROWLOCK_OUTPUT_QUOTE_JSON_H
#define ROWLOCK_OUTPUT_QUOTE_JSON_H

#include "figures/quote.h"

Status quote_json_write(const Mural *mural, const char *path, Fault *fault);

#endif
