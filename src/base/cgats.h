/* CGATS.17: the keyword-and-table text that colour meters write (also IT8.7 and
 * ISO 28178), read and written through lcms2, which is known to this module alone. */
#ifndef ROWLOCK_BASE_CGATS_H
#define ROWLOCK_BASE_CGATS_H

#include "base/csv.h"

/* True where the text looks like CGATS and not like CSV. */
int cgats_recognise(const char *bytes, size_t length);

/* The first table of the text, its data format as the header row. The values are
 * spelled as in the file. Faults, with the line: what lcms2 refuses; counts that
 * do not match; rows that do not start on a line of their own; a file that is cut
 * short; a directive that would open another file; bytes outside ASCII outside
 * quotes. Notes further tables, and a white or an observer other than D50 and 2 degrees. */
Status cgats_parse(Csv **table_out, const char *bytes, size_t length, const char *place,
                   const Voice *voice, Fault *fault);

/* What a table to be written says. cell holds rows * fields texts, row by row. A
 * text must not hold both kinds of quotes, or control characters. */
typedef struct CgatsTable {
    const char *descriptor;
    int fields, rows;
    const char *const *field;
    const char *const *cell;
} CgatsTable;

/* Writes a table of Lab colours, D50, 2 degrees, without a date, so that the same table
 * gives the same bytes. bytes_out[length] is 0; the caller frees it with memory_free. */
Status cgats_write(char **bytes_out, size_t *length_out, const CgatsTable *table, Fault *fault);

#endif
