/* A finished plan's tables can have millions of rows, so a row is cut out of the file's bytes in
 * place, with no memory of its own: the end of each field is overwritten by a 0. Being the
 * program's own, the tables are held to the letter: whole numbers are digits alone, a decimal has a
 * point, and anything else is a fault.
 *
 * Source: RFC 4180. */
#include "base/csv_stream.h"

#include "base/csv_guard.h"
#include "base/folder.h"
#include "base/memory.h"

#include <errno.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

static Status malformed(const CsvStream *s, Fault *fault, int line, const char *what)
{
    return fault_set(fault, STATUS_DATA, "%s:%d: %s; plan the mural anew", s->name, line, what);
}

/* Cuts one field off at s->at; *last_out tells that the row ends after it. */
static Status cut_field(CsvStream *s, char **field_out, bool *last_out, Fault *fault)
{
    char *const b = s->bytes;
    size_t in = s->at, out = in;
    *field_out = b + in;
    if (in < s->length && b[in] == '"') {
        for (in++;; in++) {
            if (in >= s->length) return malformed(s, fault, s->line, "a quote is not closed");
            if (b[in] == '"' && b[++in] != '"') break;
            if (b[in] == '\n') s->next_line++;
            b[out++] = b[in];
        }
    } else {
        while (in < s->length && b[in] != ',' && b[in] != '\n' && b[in] != '\r') {
            if (b[in] == '"' || b[in] == '\0')
                return malformed(s, fault, s->line, "a quote or a zero stands within a field");
            in++;
        }
        out = in;
    }
    const bool comma = in < s->length && b[in] == ',';
    if (!comma) {
        if (in < s->length && b[in] == '\r') in++;
        if (in < s->length && b[in] != '\n')
            return malformed(s, fault, s->line, "a field goes on after its end");
        s->next_line++;
    }
    s->at = in < s->length ? in + 1 : in;
    b[out] = '\0';
    *field_out += csv_unguarded(*field_out) - *field_out;
    *last_out = !comma;
    return STATUS_OK;
}

static Status cut_row(CsvStream *s, char **field, int *count_out, Fault *fault)
{
    bool last = false;
    *count_out = 0;
    s->line = s->next_line;
    while (!last) {
        if (*count_out == CSV_STREAM_COLUMNS)
            return malformed(s, fault, s->line, "more columns than any table of a plan has");
        const Status status = cut_field(s, &field[(*count_out)++], &last, fault);
        if (status) return status;
    }
    return STATUS_OK;
}

Status csv_stream_open(CsvStream *s, const char *folder, const char *name, Fault *fault)
{
    *s = (CsvStream){.name = name, .next_line = 1};
    Status status = folder_read(folder, name, &s->bytes, &s->length, fault);
    if (status) return status;
    if (s->length == 0)
        status = malformed(s, fault, 1, "empty where a header row is due");
    else
        status = cut_row(s, s->header, &s->columns, fault);
    if (status) csv_stream_close(s);
    return status;
}

void csv_stream_close(CsvStream *s)
{
    memory_free(s->bytes);
    *s = (CsvStream){0};
}

Status csv_stream_next(CsvStream *s, bool *row_out, Fault *fault)
{
    *row_out = s->at < s->length;
    if (!*row_out) return STATUS_OK;
    int count;
    const Status status = cut_row(s, s->field, &count, fault);
    if (status) return status;
    if (count == s->columns) return STATUS_OK;
    return fault_set(fault, STATUS_DATA,
                     "%s:%d: %d fields where the header has %d; plan the mural anew", s->name,
                     s->line, count, s->columns);
}

int csv_stream_column(const CsvStream *s, const char *name)
{
    for (int i = 0; i < s->columns; i++)
        if (strcmp(s->header[i], name) == 0) return i;
    return -1;
}

bool field_whole(const char *field, long least, long most, long *value_out)
{
    long value = 0;
    const char *c = field;
    for (; *c >= '0' && *c <= '9' && c - field < 12; c++) value = 10 * value + (*c - '0');
    if (c == field || *c || value < least || value > most) return false;
    *value_out = value;
    return true;
}

bool field_decimal(const char *field, double *value_out, int *places_out)
{
    const char *c = field + (*field == '-');
    const char *start = c, *point = NULL;
    double digits = 0;
    for (; (*c >= '0' && *c <= '9') || (*c == '.' && !point); c++) {
        if (*c == '.')
            point = c;
        else
            digits = 10 * digits + (*c - '0');
    }
    const int places = point ? (int)(c - point) - 1 : 0;
    if (*c || c == start || c - start > 18 || (point && (point == start || places == 0)))
        return false;
    *value_out = (*field == '-' ? -digits : digits) / pow(10, places);
    *places_out = places;
    return true;
}
