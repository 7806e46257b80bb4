/* Csv stream: a table of a finished plan (CSV of RFC 4180), read row by row. Unlike tables
 * that come from outside it may be of any length, and it is taken as it stands: no
 * blanks are dropped, names of columns count by letter. */
#ifndef ROWLOCK_BASE_CSV_STREAM_H
#define ROWLOCK_BASE_CSV_STREAM_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

enum { CSV_STREAM_COLUMNS = 64 };

typedef struct CsvStream {
    const char *name; /* of the file, for messages; borrowed */
    char *bytes;      /* fields are cut out of it in place */
    size_t length, at;
    int line, next_line; /* of the row, from 1 */
    int columns;
    char *header[CSV_STREAM_COLUMNS];
    char *field[CSV_STREAM_COLUMNS]; /* of the row; valid until csv_stream_close */
} CsvStream;

/* Reads the file and its header. Faults: missing (STATUS_NO_INPUT), not a table. */
Status csv_stream_open(CsvStream *stream, const char *folder, const char *name, Fault *fault);
void csv_stream_close(CsvStream *stream);

/* The next row; *row_out is false at the end. Faults: a quote out of place, more or
 * fewer fields than the header. */
Status csv_stream_next(CsvStream *stream, bool *row_out, Fault *fault);

int csv_stream_column(const CsvStream *stream, const char *name); /* -1 if absent */

/* Whole fields only: digits, and for a decimal a point and a minus; no locale. */
bool field_whole(const char *field, long least, long most, long *value_out);
/* places_out is the number of digits after the point. */
bool field_decimal(const char *field, double *value_out, int *places_out);

#endif
