/* Ledger: a table of a finished plan (CSV of RFC 4180), read row by row. Unlike tables
 * that come from outside it may be of any length, and it is taken as it stands: no
 * blanks are dropped, names of columns count by letter. */
#ifndef ROWLOCK_LEDGER_H
#define ROWLOCK_LEDGER_H

#include "status.h"

#include <stdbool.h>
#include <stddef.h>

enum { LEDGER_COLUMNS = 32 };

typedef struct Ledger {
    const char *name; /* of the file, for messages; borrowed */
    char *bytes;      /* fields are cut out of it in place */
    size_t length, at;
    int line, next_line; /* of the row, from 1 */
    int columns;
    char *header[LEDGER_COLUMNS];
    char *field[LEDGER_COLUMNS]; /* of the row; valid until ledger_close */
} Ledger;

/* Reads the file and its header. Faults: missing (STATUS_NO_INPUT), not a table. */
Status ledger_open(Ledger *ledger, const char *folder, const char *name, Fault *fault);
void ledger_close(Ledger *ledger);

/* The next row; *row_out is false at the end. Faults: a quote out of place, more or
 * fewer fields than the header. */
Status ledger_next(Ledger *ledger, bool *row_out, Fault *fault);

int ledger_column(const Ledger *ledger, const char *name); /* -1 if absent */

/* Whole fields only: digits, and for a decimal a point and a minus; no locale. */
bool field_whole(const char *field, long least, long most, long *value_out);
/* places_out is the number of digits after the point. */
bool field_decimal(const char *field, double *value_out, int *places_out);

/* Reads a whole file of the folder; *bytes_out is followed by a 0 and is the caller's
 * to free with memory_free. */
Status folder_read(const char *folder, const char *name, char **bytes_out, size_t *length_out,
                   Fault *fault);
/* folder/name; false where that is too long. */
enum { LEDGER_PATH = 4096 };
bool ledger_path(char path_out[LEDGER_PATH], const char *folder, const char *name);

#endif
