/* Pdf verify: reads a finished PDF back and holds it to what was drawn, since the library that
 * writes it may leave out what it has no memory for and say nothing. */
#ifndef ROWLOCK_BOOK_PDF_VERIFY_H
#define ROWLOCK_BOOK_PDF_VERIFY_H

#include "base/status.h"

/* What was drawn. */
typedef struct PdfDrawn {
    long pages, glyphs;
} PdfDrawn;

/* Faults: it cannot be read back (STATUS_IO), no memory, or it lacks pages, glyphs or a typeface,
 * or a stream of it is cut (STATUS_NO_RESOURCE). The file is of the kind that cairo 1.16 writes. */
Status pdf_verify(const char *path, const PdfDrawn *drawn, Fault *fault);

#endif
