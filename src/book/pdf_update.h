/* Pdf update: adds to a finished PDF what its writer has no words for: the language,
 * the title in the window's bar, and alternative texts of the figures. It is done by
 * an incremental update (ISO 32000-1:2008, 7.5.6), so nothing already written moves. */
#ifndef ROWLOCK_BOOK_PDF_UPDATE_H
#define ROWLOCK_BOOK_PDF_UPDATE_H

#include "base/status.h"

#include <stddef.h>

typedef struct PdfUpdate {
    const char *language;     /* RFC 3066 tag: "en" */
    char *const *alternative; /* UTF-8, one for each structure element /Figure, in order */
    size_t alternatives;
} PdfUpdate;

/* The file must have a classic cross-reference table of one section, as cairo 1.16
 * writes it; anything else is a fault and leaves the file as it was. */
Status pdf_update(const char *path, const PdfUpdate *amendment, Fault *fault);

#endif
