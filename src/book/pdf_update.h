/* Pdf update: adds to a finished PDF what its writer has no words for: the language, the title in
 * the window's bar and as XMP, alternative texts of the figures, what cells of heads are heads of,
 * the order of tabs and the words of links. It is done by an incremental update (ISO 32000-1:2008,
 * 7.5.6), so nothing already written moves. */
#ifndef ROWLOCK_BOOK_PDF_UPDATE_H
#define ROWLOCK_BOOK_PDF_UPDATE_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

typedef struct PdfUpdate {
    const char *language;     /* RFC 3066 tag: "en" */
    const char *title;        /* UTF-8 */
    const char *date;         /* ISO 8601, of making */
    char *const *alternative; /* UTF-8, one for each structure element /Figure, in order */
    size_t alternatives;
    char *const *link; /* UTF-8, what each link leads to, in order */
    size_t links;
    const bool *column; /* for each structure element /TH, in order: head of a column, else a row */
    size_t heads;
} PdfUpdate;

/* The file must have a classic cross-reference table of one section, as cairo 1.16
 * writes it; anything else is a fault and leaves the file as it was. */
Status pdf_update(const char *path, const PdfUpdate *amendment, Fault *fault);

#endif
