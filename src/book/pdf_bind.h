/* Pdf bind: finished PDFs of ours one after another in one file. Each part is begun by a bookmark
 * of its title, with its own outline below; a link to a part's file leads into the whole, and
 * structure, alternative texts and links of a part stay what they were. */
#ifndef ROWLOCK_BOOK_PDF_BIND_H
#define ROWLOCK_BOOK_PDF_BIND_H

#include "base/status.h"
#include "base/voice.h"

enum { PDF_PARTS_MOST = 999 };

typedef struct PdfPart {
    const char *path;  /* where it is read */
    const char *name;  /* from the folder of the whole, as links name it: "cup/book.pdf" */
    const char *title; /* UTF-8 */
    const char *label; /* before the numbers of its pages, as a reader shows them; "": none */
    long pages;        /* is filled in */
} PdfPart;

/* Writes the parts to path; language, title and metadata are the first part's. One part at a time
 * is in memory. Faults: a part cannot be read back (STATUS_IO), no memory, one is not as it was
 * written (STATUS_DATA), stopped, the whole cannot be written; then there is no file. */
Status pdf_bind(const char *path, PdfPart *part, int parts, const Voice *voice, Fault *fault);

#endif
