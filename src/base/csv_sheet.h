/* CSV sheet: one CSV file being written (RFC 4180: CRLF, quotes doubled). What goes wrong
 * on the way is reported when it is closed. */
#ifndef ROWLOCK_BASE_CSV_SHEET_H
#define ROWLOCK_BASE_CSV_SHEET_H

#include "base/status.h"

#include <stdio.h>

typedef struct CsvSheet {
    FILE *file;
    const char *path;
    int fields; /* so far in this record */
} CsvSheet;

/* Creates the file with its header row; path is borrowed until csv_sheet_close. */
Status csv_sheet_open(CsvSheet *sheet, const char *path, const char *header, Fault *fault);
void csv_put_text(CsvSheet *sheet, const char *text);
void csv_put_whole(CsvSheet *sheet, long value);
void csv_put_number(CsvSheet *sheet, int decimals, double value);
void csv_end_record(CsvSheet *sheet);
Status csv_sheet_close(CsvSheet *sheet, Fault *fault);

#endif
