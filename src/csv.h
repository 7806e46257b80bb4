/* CSV of RFC 4180, UTF-8, read with its places: every message about a value can
 * name the line and the column where it stands. */
#ifndef ROWLOCK_CSV_H
#define ROWLOCK_CSV_H

#include "status.h"
#include "voice.h"

#include <stddef.h>

typedef struct Csv Csv;

/* Reads a whole file, header row first. CRLF or LF, quoted fields with doubled
 * quotes and line ends, a UTF-8 byte order mark is skipped. Faults: not UTF-8, a quote
 * that is not closed, a row with more or fewer fields than the header, a header
 * name twice, more than 16 MiB. */
Status csv_read(Csv **csv_out, const char *path, Fault *fault);
Status csv_parse(Csv **csv_out, const char *bytes, size_t length, const char *place, Fault *fault);
void csv_free(Csv *csv);

size_t csv_rows(const Csv *csv); /* header not counted */
int csv_columns(const Csv *csv);
const char *csv_place(const Csv *csv); /* the path, for messages */

/* Index of the column named so (case does not count, blanks around are dropped), -1 if absent. */
int csv_column(const Csv *csv, const char *name);

/* A field, blanks around it dropped; never NULL. */
const char *csv_field(const Csv *csv, size_t row, int column);
/* Where the field starts in the file, from 1. */
int csv_line(const Csv *csv, size_t row);
int csv_at(const Csv *csv, size_t row, int column);

/* A number with a decimal point, whole field, within [least, most]; else a fault
 * "file:line:column: ..." (a decimal comma, nan, inf, hex and blanks are refused). */
Status csv_number(const Csv *csv, size_t row, int column, double least, double most,
                  double *value_out, Fault *fault);

/* Notes every column whose name is not in the list (NULL-terminated). */
void csv_note_others(const Csv *csv, const char *const *known, const Voice *voice);

/* A number from text, whatever the locale; false unless the whole text is one finite
 * decimal number. Shared by all parsers of text. */
int number_parse(const char *text, double *value_out);

#endif
