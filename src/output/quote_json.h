/* Quote json: quote.json, the quote's figures for other programs to read. */
#ifndef ROWLOCK_OUTPUT_QUOTE_JSON_H
#define ROWLOCK_OUTPUT_QUOTE_JSON_H

#include "base/json_file.h"
#include "figures/quote.h"

/* The document; NULL, or making->failed, where there is no memory. */
json_t *quote_json_document(Making *making, const Mural *mural);

Status quote_json_write(const Mural *mural, const char *path, Fault *fault);

#endif
