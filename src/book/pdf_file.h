/* Pdf file: a finished PDF in memory, where its objects stand, and how their values are read.
 *
 * A value is where its first token begins. Objects are read in the clear, so a file that packs
 * them, or its table of them, is refused. */
#ifndef ROWLOCK_BOOK_PDF_FILE_H
#define ROWLOCK_BOOK_PDF_FILE_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

typedef struct PdfFile {
    const char *path; /* borrowed */
    char *bytes;      /* a 0 follows them */
    size_t length;
    long objects;        /* numbers are below it */
    size_t *at;          /* of each number, the newest value; 0: there is none */
    const char *root;    /* the catalogue, a dictionary */
    const char *trailer; /* the newest */
} PdfFile;

/* A string or a name has its marks: "(text)", "<00ff>", "/Type". */
typedef struct PdfToken {
    enum { PDF_END, PDF_NAME, PDF_NUMBER, PDF_STRING, PDF_WORD, PDF_OPEN, PDF_CLOSE } kind;
    const char *begin, *end;
} PdfToken;

/* Faults: it cannot be read back (STATUS_IO), no memory, or it is none of ours (STATUS_DATA). */
Status pdf_file_read(PdfFile *file_out, const char *path, Fault *fault);
void pdf_file_clear(PdfFile *file);
/* The fault of a file that is not what this program writes. */
Status pdf_file_strange(const char *path, Fault *fault);

/* The first token at or after this place, of which arrays and dictionaries have one at either end;
 * PDF_END at the end of the file. */
PdfToken pdf_token(const PdfFile *file, const char *at);
bool pdf_token_is(PdfToken token, const char *text);

/* The number of the object that a value refers to; 0: it is no reference. */
long pdf_reference(const PdfFile *file, const char *value);
/* The value itself, or that of the object it refers to; NULL where that is not there. */
const char *pdf_resolve(const PdfFile *file, const char *value);
/* Where a value ends. */
const char *pdf_skip(const PdfFile *file, const char *value);
/* The value of a key of a dictionary; NULL: it is no dictionary, or the key is not there. */
const char *pdf_find(const PdfFile *file, const char *dictionary, const char *key);
/* The number under a key, or -1. */
long pdf_whole(const PdfFile *file, const char *dictionary, const char *key);

/* All bytes of a finished file, and a 0 after them; freed with memory_free. */
Status pdf_file_bytes(char **bytes_out, size_t *length_out, const char *path, Fault *fault);

/* Writes UTF-8 as a text string of ISO 32000-1, 7.9.2.2: UTF-16BE with its mark, in hexadecimal. */
void pdf_write_text(FILE *file, const char *utf8);

#endif
