/* One pass over the bytes. Fields are copied, unquoted and trimmed, into one block
 * of text; a cell remembers where its field starts in that block and in the file.
 * Cells are in file order, so row r, column c is cell (r + 1) * columns + c. */
#include "base/csv.h"

#include "base/csv_guard.h"
#include "base/memory.h"
#include "base/text.h"

#include <assert.h>
#include <limits.h>
#include <locale.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct Cell {
    size_t start; /* into the text */
    int line, at;
} Cell;

struct Csv {
    char *place;
    char *text;
    size_t used, text_room;
    Cell *cell;
    size_t cells, cell_room;
    int columns; /* 0 until the header is read */
};

/* ---- Building a table ---- */

Status csv_create(Csv **csv_out, const char *place, Fault *fault)
{
    const size_t length = strlen(place) + 1;
    Csv *csv = memory_create(1, sizeof *csv);
    if (!csv) return memory_fault(fault, 1, sizeof *csv);
    csv->place = memory_create(length, 1);
    if (!csv->place) {
        memory_free(csv);
        return memory_fault(fault, length, 1);
    }
    memcpy(csv->place, place, length);
    *csv_out = csv;
    return STATUS_OK;
}

void csv_free(Csv *csv)
{
    if (!csv) return;
    memory_free(csv->place);
    memory_free(csv->text);
    memory_free(csv->cell);
    memory_free(csv);
}

static Status cell_begin(Csv *csv, int line, int at, Fault *fault)
{
    Status status = memory_grow(&csv->cell, &csv->cell_room, csv->cells + 1, sizeof(Cell), fault);
    if (status) return status;
    csv->cell[csv->cells++] = (Cell){csv->used, line, at};
    return STATUS_OK;
}

static Status cell_put(Csv *csv, const char *bytes, size_t length, Fault *fault)
{
    if (!length) return STATUS_OK;
    Status status = memory_grow(&csv->text, &csv->text_room, csv->used + length, 1, fault);
    if (status) return status;
    memcpy(csv->text + csv->used, bytes, length);
    csv->used += length;
    return STATUS_OK;
}

static int is_blank(char c) { return c == ' ' || c == '\t'; }

static Status cell_end(Csv *csv, Fault *fault)
{
    Cell *cell = &csv->cell[csv->cells - 1];
    while (cell->start < csv->used && is_blank(csv->text[cell->start])) cell->start++;
    while (cell->start < csv->used && is_blank(csv->text[csv->used - 1])) csv->used--;
    return cell_put(csv, "", 1, fault);
}

Status csv_append(Csv *csv, const char *text, size_t length, int line, int at, Fault *fault)
{
    Status status = cell_begin(csv, line, at, fault);
    if (!status) status = cell_put(csv, text, length, fault);
    if (!status) status = cell_end(csv, fault);
    return status;
}

void csv_close(Csv *csv, int columns)
{
    assert(columns > 0 && csv->cells >= (size_t)columns && csv->cells % (size_t)columns == 0);
    csv->columns = columns;
}

/* ---- Reading CSV ---- */

typedef struct Reader {
    Csv *csv;
    const char *next, *end;
    int line, at; /* of *next */
    Fault *fault;
} Reader;

static void reader_step(Reader *r)
{
    const char c = *r->next++;
    if (c == '\n') {
        r->line++;
        r->at = 1;
    } else if (((unsigned char)c & 0xc0) != 0x80) {
        r->at++;
    }
}

static Status reader_fault(const Reader *r, int line, int at, const char *what)
{
    return fault_set(r->fault, STATUS_DATA, "%s:%d:%d: %s", r->csv->place, line, at, what);
}

static int at_field_end(const Reader *r)
{
    return r->next == r->end || *r->next == ',' || *r->next == '\n' ||
           (*r->next == '\r' && r->next + 1 < r->end && r->next[1] == '\n');
}

static void skip_blanks(Reader *r)
{
    while (r->next < r->end && is_blank(*r->next)) reader_step(r);
}

/* RFC 4180 section 2, rules 5 to 7; *next is the opening quote. */
static Status read_quoted(Reader *r)
{
    const int line = r->line, at = r->at;
    reader_step(r);
    for (;;) {
        const char *start = r->next;
        while (r->next < r->end && *r->next != '"') reader_step(r);
        if (r->next == r->end)
            return reader_fault(r, line, at, "this quote is not closed; close it with a quote");
        reader_step(r);
        const int doubled = r->next < r->end && *r->next == '"';
        const size_t length = (size_t)(r->next - start) - (doubled ? 0 : 1);
        Status status = cell_put(r->csv, start, length, r->fault);
        if (status) return status;
        if (!doubled) break;
        reader_step(r);
    }
    skip_blanks(r);
    if (at_field_end(r)) return STATUS_OK;
    return reader_fault(r, r->line, r->at,
                        "text after the closing quote; double the quotes that belong to the text");
}

static Status read_bare(Reader *r)
{
    const char *start = r->next;
    for (; !at_field_end(r); reader_step(r)) {
        if (*r->next == '"')
            return reader_fault(r, r->line, r->at,
                                "a quote within a bare field; put the whole field in quotes and "
                                "double this one");
        if (*r->next == '\r')
            return reader_fault(r, r->line, r->at,
                                "a carriage return alone; end lines with LF or CRLF");
    }
    return cell_put(r->csv, start, (size_t)(r->next - start), r->fault);
}

static Status read_field(Reader *r)
{
    skip_blanks(r);
    Status status = cell_begin(r->csv, r->line, r->at, r->fault);
    if (!status) status = r->next < r->end && *r->next == '"' ? read_quoted(r) : read_bare(r);
    if (!status) status = cell_end(r->csv, r->fault);
    if (status) return status;
    Cell *cell = &r->csv->cell[r->csv->cells - 1];
    const char *text = r->csv->text + cell->start;
    cell->start += (size_t)(csv_unguarded(text) - text);
    return STATUS_OK;
}

static int is_empty_row(const Csv *csv, size_t first)
{
    for (size_t i = first; i < csv->cells; i++)
        if (csv->text[csv->cell[i].start]) return 0;
    return 1;
}

static Status check_header_row(const Reader *r)
{
    const Csv *csv = r->csv;
    const char *only = csv->text + csv->cell[0].start;
    if (csv->cells == 1 && strpbrk(only, ";\t|"))
        return reader_fault(r, csv->cell[0].line, csv->cell[0].at,
                            "columns are not parted by commas; save with commas between columns "
                            "and points in numbers");
    if (csv->cells > 1000)
        return reader_fault(r, csv->cell[0].line, csv->cell[0].at,
                            "more than 1000 columns; check that it is the right file");
    for (size_t i = 0; i < csv->cells; i++)
        for (size_t j = 0; j < i; j++) {
            const char *name = csv->text + csv->cell[i].start;
            if (!*name || !text_same(name, csv->text + csv->cell[j].start)) continue;
            char clip[TEXT_CLIP];
            return fault_set(r->fault, STATUS_DATA,
                             "%s:%d:%d: column %s is there twice; name each column once",
                             csv->place, csv->cell[i].line, csv->cell[i].at, text_clip(clip, name));
        }
    return STATUS_OK;
}

/* A row is complete: cells from `first` on. */
static Status close_row(Reader *r, size_t first)
{
    Csv *csv = r->csv;
    const size_t fields = csv->cells - first, columns = (size_t)csv->columns;
    if (is_empty_row(csv, first) && (fields == 1 || !columns || fields == columns)) {
        csv->cells = first;
        return STATUS_OK;
    }
    if (!columns) {
        Status status = check_header_row(r);
        if (!status) csv->columns = (int)fields;
        return status;
    }
    if (fields == columns) return STATUS_OK;
    const Cell *cell = &csv->cell[fields > columns ? first + columns : first];
    return fault_set(r->fault, STATUS_DATA, "%s:%d:%d: %zu fields, where the header has %zu; %s",
                     csv->place, cell->line, cell->at, fields, columns,
                     fields > columns
                         ? "put fields that hold a comma in quotes, write decimals with a point"
                         : "give every column a field, empty ones too");
}

static Status read_all_rows(Reader *r)
{
    while (r->next < r->end) {
        const size_t first = r->csv->cells;
        for (;;) {
            Status status = read_field(r);
            if (status) return status;
            if (r->next == r->end || *r->next != ',') break;
            reader_step(r);
        }
        if (r->next < r->end && *r->next == '\r') reader_step(r);
        if (r->next < r->end) reader_step(r);
        Status status = close_row(r, first);
        if (status) return status;
    }
    if (r->csv->columns) return STATUS_OK;
    return reader_fault(r, 1, 1, "the file is empty; it needs a header row with column names");
}

Status csv_parse(Csv **csv_out, const char *bytes, size_t length, const char *place, Fault *fault)
{
    if (length > TEXT_MOST)
        return fault_set(fault, STATUS_DATA,
                         "%s: more than %d MiB; check that it is the right file", place,
                         TEXT_MOST >> 20);
    Status status = text_check(bytes, length, place, fault);
    if (status) return status;
    Csv *csv = NULL;
    status = csv_create(&csv, place, fault);
    if (status) return status;
    Reader reader = {csv, bytes + text_mark(bytes, length), bytes + length, 1, 1, fault};
    status = read_all_rows(&reader);
    if (status) {
        csv_free(csv);
        return status;
    }
    *csv_out = csv;
    return STATUS_OK;
}

Status csv_read(Csv **csv_out, const char *path, Fault *fault)
{
    char *bytes;
    size_t length;
    Status status = text_read(&bytes, &length, path, fault);
    if (status) return status;
    status = csv_parse(csv_out, bytes, length, text_place(path), fault);
    memory_free(bytes);
    return status;
}

/* ---- Asking a table ---- */

size_t csv_rows(const Csv *csv) { return csv->cells / (size_t)csv->columns - 1; }

int csv_columns(const Csv *csv) { return csv->columns; }

const char *csv_place(const Csv *csv) { return csv->place; }

const char *csv_name(const Csv *csv, int column)
{
    assert(column >= 0 && column < csv->columns);
    return csv->text + csv->cell[column].start;
}

int csv_column(const Csv *csv, const char *name)
{
    for (int i = 0; i < csv->columns; i++)
        if (text_same(csv_name(csv, i), name)) return i;
    return -1;
}

static const Cell *cell_of(const Csv *csv, size_t row, int column)
{
    assert(row < csv_rows(csv) && column >= 0 && column < csv->columns);
    return &csv->cell[(row + 1) * (size_t)csv->columns + (size_t)column];
}

const char *csv_field(const Csv *csv, size_t row, int column)
{
    return csv->text + cell_of(csv, row, column)->start;
}

int csv_line(const Csv *csv, size_t row) { return cell_of(csv, row, 0)->line; }

int csv_at(const Csv *csv, size_t row, int column) { return cell_of(csv, row, column)->at; }

int csv_header_line(const Csv *csv) { return csv->cell[0].line; }

Status csv_fault(const Csv *csv, size_t row, int column, Fault *fault, const char *format, ...)
{
    char text[400];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    const Cell *cell = cell_of(csv, row, column);
    return fault_set(fault, STATUS_DATA, "%s:%d:%d: %s", csv->place, cell->line, cell->at, text);
}

/* What is wrong with a field that is no number. */
static Status fault_number(const Csv *csv, size_t row, int column, Fault *fault)
{
    const char *field = csv_field(csv, row, column), *comma = strchr(field, ',');
    char clip[TEXT_CLIP], name[TEXT_CLIP], point[64];
    double value;
    text_clip(name, csv_name(csv, column));
    if (!*field) return csv_fault(csv, row, column, fault, "%s is empty; give a number", name);
    if (comma && strlen(field) < sizeof point) {
        strcpy(point, field);
        point[comma - field] = '.';
        if (number_parse(point, &value))
            return csv_fault(csv, row, column, fault,
                             "%s has a decimal comma, '%s'; write it with a point, %s", name,
                             text_clip(clip, field), point);
    }
    return csv_fault(csv, row, column, fault,
                     "%s is '%s', which is not a number; write digits with a decimal point", name,
                     text_clip(clip, field));
}

Status csv_number(const Csv *csv, size_t row, int column, CsvRange range, double *value_out,
                  Fault *fault)
{
    double value;
    if (!number_parse(csv_field(csv, row, column), &value))
        return fault_number(csv, row, column, fault);
    if (value >= range.least && value <= range.most) {
        *value_out = value;
        return STATUS_OK;
    }
    char name[TEXT_CLIP], clip[TEXT_CLIP], low[NUMBER_TEXT], high[NUMBER_TEXT];
    return csv_fault(csv, row, column, fault, "%s is %s; give a number from %s to %s",
                     text_clip(name, csv_name(csv, column)),
                     text_clip(clip, csv_field(csv, row, column)), number_print(low, range.least),
                     number_print(high, range.most));
}

bool csv_given(const Csv *csv, size_t row, int column)
{
    return column >= 0 && *csv_field(csv, row, column);
}

Status csv_whole(const Csv *csv, size_t row, int column, CsvRange range, long *value_out,
                 Fault *fault)
{
    double value = 0.0;
    assert(range.least >= -0x1p52 && range.most <= 0x1p52);
    Status status = csv_number(csv, row, column, range, &value, fault);
    if (status) return status;
    const char *field = csv_field(csv, row, column);
    if (field[strspn(field, "+-0123456789")]) {
        char name[TEXT_CLIP], clip[TEXT_CLIP];
        return csv_fault(csv, row, column, fault, "%s is %s; give a whole number",
                         text_clip(name, csv_name(csv, column)), text_clip(clip, field));
    }
    *value_out = (long)value;
    return STATUS_OK;
}

static int is_known(const char *name, const char *const *known)
{
    for (; *known; known++)
        if (text_same(name, *known)) return 1;
    return 0;
}

void csv_note_others(const Csv *csv, const char *const *known, const Voice *voice)
{
    enum { NAMED = 6 };
    char list[NAMED * (TEXT_CLIP + 2) + 1] = "";
    size_t used = 0;
    int others = 0;
    for (int i = 0; i < csv->columns; i++) {
        if (is_known(csv_name(csv, i), known) || others++ >= NAMED) continue;
        char clip[TEXT_CLIP];
        const char *name = *csv_name(csv, i) ? text_clip(clip, csv_name(csv, i)) : "(no name)";
        used += (size_t)sprintf(list + used, "%s%s", used ? ", " : "", name);
    }
    if (!others) return;
    voice_note(voice, "%s:%d: columns that are not known are left out: %s%s", csv->place,
               csv_header_line(csv), list, others > NAMED ? " and others" : "");
}

/* ---- Numbers ---- */

static const char *skip_digits(const char *c)
{
    while (*c >= '0' && *c <= '9') c++;
    return c;
}

/* The grammar of strtod without nan, inf, hexadecimal and leading blanks. */
static int is_decimal(const char *c)
{
    if (*c == '+' || *c == '-') c++;
    const char *whole = c;
    c = skip_digits(c);
    int digits = c > whole;
    if (*c == '.') {
        const char *part = ++c;
        c = skip_digits(c);
        digits |= c > part;
    }
    if (!digits) return 0;
    if (*c == 'e' || *c == 'E') {
        c++;
        if (*c == '+' || *c == '-') c++;
        const char *power = c;
        c = skip_digits(c);
        if (c == power) return 0;
    }
    return *c == '\0';
}

/* The C locale is built into the C library: taking it cannot fail or wait. */
static locale_t plain_locale(void) { return newlocale(LC_ALL_MASK, "C", (locale_t)0); }

int number_parse(const char *text, double *value_out)
{
    if (!is_decimal(text)) return 0;
    const locale_t plain = plain_locale(), before = uselocale(plain);
    const double value = strtod(text, NULL);
    uselocale(before);
    freelocale(plain);
    if (!isfinite(value)) return 0;
    *value_out = value;
    return 1;
}

/* The fewest digits that read back as the same double, in out as [-]d.ddde[+-]dd;
 * returns how many. */
static int print_shortest(char out[NUMBER_TEXT], double value)
{
    int digits = 0;
    do {
        snprintf(out, NUMBER_TEXT, "%.*e", digits, value);
    } while (strtod(out, NULL) != value && digits++ < 16);
    return digits + 1;
}

const char *number_print(char out[NUMBER_TEXT], double value)
{
    assert(isfinite(value));
    if (value == 0.0) return strcpy(out, "0"); /* no "-0" */
    locale_t plain = plain_locale(), before = uselocale(plain);
    const int digits = print_shortest(out, value);
    const int power = atoi(strchr(out, 'e') + 1);
    if (power >= -5 && power < 16)
        snprintf(out, NUMBER_TEXT, "%.*f", digits > power ? digits - 1 - power : 0, value);
    uselocale(before);
    freelocale(plain);
    return out;
}
