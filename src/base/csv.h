/* CSV of RFC 4180, UTF-8, read with its places: every message about a value can
 * name the line and the column where it stands. The table that results serves any
 * other text with columns, too: cgats.h fills one. */
#ifndef ROWLOCK_BASE_CSV_H
#define ROWLOCK_BASE_CSV_H

#include "base/status.h"
#include "base/voice.h"

#include <stdbool.h>
#include <stddef.h>

typedef struct Csv Csv;

/* Reads a whole file, header row first. CRLF or LF, quoted fields with doubled
 * quotes and line ends, a UTF-8 byte order mark is skipped, and so are empty lines
 * and the rows of empty fields that spreadsheets leave behind. "-" is standard input.
 * Faults: not UTF-8, a quote that is not closed or stands within a bare field, a row
 * with more or fewer fields than the header, a header name twice, columns parted by
 * anything but commas, more than 16 MiB. */
Status csv_read(Csv **csv_out, const char *path, Fault *fault);
Status csv_parse(Csv **csv_out, const char *bytes, size_t length, const char *place, Fault *fault);
void csv_free(Csv *csv);

size_t csv_rows(const Csv *csv); /* header not counted */
int csv_columns(const Csv *csv);
const char *csv_place(const Csv *csv); /* the path, for messages */

const char *csv_name(const Csv *csv, int column);

/* Index of the column named so (case does not count, blanks around are dropped), -1 if absent. */
int csv_column(const Csv *csv, const char *name);

/* A field, blanks around it dropped; never NULL. */
const char *csv_field(const Csv *csv, size_t row, int column);
/* Where the field starts in the file, from 1; columns count characters. */
int csv_line(const Csv *csv, size_t row);
int csv_at(const Csv *csv, size_t row, int column);
int csv_header_line(const Csv *csv);

/* What a number may be, the ends included. */
typedef struct CsvRange {
    double least, most;
} CsvRange;

/* A number with a decimal point, whole field, within the range; else a fault
 * "file:line:column: ..." (a decimal comma, nan, inf, hex and blanks are refused). */
Status csv_number(const Csv *csv, size_t row, int column, CsvRange range, double *value_out,
                  Fault *fault);

/* A whole number within the range, which does not go beyond 2^52, digits only; faults like
 * csv_number. */
Status csv_whole(const Csv *csv, size_t row, int column, CsvRange range, long *value_out,
                 Fault *fault);

/* Whether the table has the column, which may be -1, and the row a value in it. */
bool csv_given(const Csv *csv, size_t row, int column);

/* Fills the fault "file:line:column: ..." for a field; the format gives WHAT; HOW. */
Status csv_fault(const Csv *csv, size_t row, int column, Fault *fault, const char *format, ...)
    __attribute__((format(printf, 5, 6)));

/* Notes, in one line, the columns whose names are not in the list (NULL-terminated). */
void csv_note_others(const Csv *csv, const char *const *known, const Voice *voice);

/* A number from text, whatever the locale; false unless the whole text is one finite
 * decimal number. Shared by all parsers of text. */
int number_parse(const char *text, double *value_out);

/* The shortest text that number_parse reads back as the same double, whatever the
 * locale; returns out. The number is finite. */
enum { NUMBER_TEXT = 32 };
const char *number_print(char out[NUMBER_TEXT], double value);

/* For the readers of other formats: an empty table, a field more (the first
 * `columns` of them are the header), and the end, at which the fields must fill
 * whole rows. */
Status csv_create(Csv **csv_out, const char *place, Fault *fault);
Status csv_append(Csv *csv, const char *text, size_t length, int line, int at, Fault *fault);
void csv_close(Csv *csv, int columns);

#endif
