/* A sheet belongs to one thread, and a large plan has millions of fields: locks around each
 * would take longer than writing it, so the stream is used without (POSIX.1-2008, putc_unlocked).
 * The format is RFC 4180's. */
#include "base/csv_sheet.h"

#include "base/csv_guard.h"
#include "base/output_file.h"

#include <string.h>

Status csv_sheet_open(CsvSheet *sheet, const char *path, TableId table, Fault *fault)
{
    return csv_sheet_open_more(sheet, path, table, 0, fault);
}

Status csv_sheet_open_more(CsvSheet *sheet, const char *path, TableId table, unsigned more,
                           Fault *fault)
{
    *sheet = (CsvSheet){.path = path};
    const Status status = output_file_open(&sheet->file, path, fault);
    if (status) return status;
    const Table *t = &table_list[table];
    for (size_t i = 0; i < t->columns; i++)
        if (!t->column[i].of || t->column[i].of & more) csv_put_text(sheet, t->column[i].name);
    csv_end_record(sheet);
    return STATUS_OK;
}

static void put_all(CsvSheet *sheet, const char *text, size_t length)
{
    for (size_t i = 0; i < length; i++) putc_unlocked(text[i], sheet->file);
}

static void separate(CsvSheet *sheet)
{
    if (sheet->fields++) putc_unlocked(',', sheet->file);
}

void csv_put_text(CsvSheet *sheet, const char *text)
{
    separate(sheet);
    const bool guarded = csv_needs_guard(text);
    if (!text[strcspn(text, ",\"\r\n")]) {
        if (guarded) putc_unlocked('\'', sheet->file);
        put_all(sheet, text, strlen(text));
        return;
    }
    putc_unlocked('"', sheet->file);
    if (guarded) putc_unlocked('\'', sheet->file);
    for (; *text; text++) {
        if (*text == '"') putc_unlocked('"', sheet->file);
        putc_unlocked(*text, sheet->file);
    }
    putc_unlocked('"', sheet->file);
}

/* Whole numbers by hand: a large plan has millions, and printf is slow. */
void csv_put_whole(CsvSheet *sheet, long value)
{
    char digits[24], *c = digits + sizeof digits;
    unsigned long rest = value < 0 ? 0UL - (unsigned long)value : (unsigned long)value;
    do *--c = (char)('0' + rest % 10);
    while (rest /= 10);
    if (value < 0) *--c = '-';
    separate(sheet);
    put_all(sheet, c, (size_t)(digits + sizeof digits - c));
}

void csv_put_number(CsvSheet *sheet, int decimals, double value)
{
    separate(sheet);
    fprintf(sheet->file, "%.*f", decimals, value);
}

void csv_end_record(CsvSheet *sheet)
{
    put_all(sheet, "\r\n", 2);
    sheet->fields = 0;
}

Status csv_sheet_close(CsvSheet *sheet, Fault *fault)
{
    return output_file_close(sheet->file, sheet->path, fault);
}
