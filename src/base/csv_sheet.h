/* CSV sheet: one CSV file being written (RFC 4180: CRLF, quotes doubled). What goes wrong
 * on the way is reported when it is closed. */
#ifndef ROWLOCK_BASE_CSV_SHEET_H
#define ROWLOCK_BASE_CSV_SHEET_H

#include "base/status.h"
#include "base/table_list.h"

#include <stdio.h>

typedef struct CsvSheet {
    FILE *file;
    const char *path;
    int fields; /* so far in this record */
} CsvSheet;

/* Creates the file with the header row of the table; path is borrowed until csv_sheet_close. */
Status csv_sheet_open(CsvSheet *sheet, const char *path, TableId table, Fault *fault);
/* The same with sets of its columns that not every such table has, ored. */
Status csv_sheet_open_more(CsvSheet *sheet, const char *path, TableId table, unsigned more,
                           Fault *fault);
void csv_put_text(CsvSheet *sheet, const char *text);
void csv_put_whole(CsvSheet *sheet, long value);
void csv_put_number(CsvSheet *sheet, int decimals, double value);
void csv_end_record(CsvSheet *sheet);
Status csv_sheet_close(CsvSheet *sheet, Fault *fault);

#endif
