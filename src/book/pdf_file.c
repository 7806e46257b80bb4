/* Cross-reference tables are read from the newest to the oldest, so the first place that is told
 * of an object is its newest. Tokens know nothing of streams: who reads an object stops at the word
 * that opens one.
 *
 * Source: ISO 32000-1:2008, 7.2 (lexical conventions), 7.3 (objects), 7.5.4 (cross-reference
 * table), 7.5.6 (incremental updates). */
#include "book/pdf_file.h"

#include "base/input_file.h"
#include "base/memory.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

Status pdf_file_bytes(char **bytes_out, size_t *length_out, const char *path, Fault *fault)
{
    struct stat what;
    FILE *file = input_file_open_regular(path);
    if (!file || fstat(fileno(file), &what)) {
        const int why = errno;
        if (file) fclose(file);
        return fault_set(fault, STATUS_IO, "%s: cannot be read back (%s); check the disk", path,
                         strerror(why));
    }
    const size_t length = (size_t)what.st_size;
    char *bytes = memory_create(length + 1, 1);
    const bool whole = bytes && fread(bytes, 1, length, file) == length;
    fclose(file);
    if (whole) {
        bytes[length] = '\0';
        *bytes_out = bytes;
        *length_out = length;
        return STATUS_OK;
    }
    const Status status =
        bytes ? fault_set(fault, STATUS_IO, "%s: cannot be read back; check the disk", path)
              : memory_fault(fault, length + 1, 1);
    memory_free(bytes);
    return status;
}

Status pdf_file_strange(const char *path, Fault *fault)
{
    return fault_set(fault, STATUS_DATA,
                     "%s: is not as it was written; remove it with its folder and run it again",
                     path);
}

/* ---- tokens ---- */

static bool is_blank(char c) { return c && strchr(" \t\r\n\f", c); }
static bool is_mark(char c) { return c && strchr("()<>[]{}/%", c); }

static const char *skip_blanks(const char *at, const char *end)
{
    while (at < end && (is_blank(*at) || *at == '%' || !*at)) {
        if (*at == '%')
            while (at < end && *at != '\n' && *at != '\r') at++;
        else
            at++;
    }
    return at;
}

/* Brackets nest in a string; a mark after \ is text. */
static const char *string_end(const char *at, const char *end)
{
    int depth = 0;
    for (; at < end; at++) {
        if (*at == '\\' && at + 1 < end)
            at++;
        else if (*at == '(')
            depth++;
        else if (*at == ')' && !--depth)
            return at + 1;
    }
    return end;
}

static const char *regular_end(const char *at, const char *end)
{
    while (at < end && *at && !is_blank(*at) && !is_mark(*at)) at++;
    return at;
}

PdfToken pdf_token(const PdfFile *f, const char *at)
{
    const char *end = f->bytes + f->length;
    PdfToken t = {PDF_END, skip_blanks(at, end), end};
    if (t.begin == end) return t;
    const char first = *t.begin, second = t.begin[1]; /* or the 0 after the bytes */
    const bool twice = first == second && (first == '<' || first == '>');
    t.end = t.begin + 1 + twice;
    if (first == '(') {
        t.kind = PDF_STRING;
        t.end = string_end(t.begin, end);
    } else if (first == '/') {
        t.kind = PDF_NAME;
        t.end = regular_end(t.begin + 1, end);
    } else if (first == '<' && !twice) {
        t.kind = PDF_STRING;
        while (t.end < end && t.end[-1] != '>') t.end++;
    } else if (first == '<' || first == '[') {
        t.kind = PDF_OPEN;
    } else if (is_mark(first)) {
        t.kind = PDF_CLOSE;
    } else {
        t.end = regular_end(t.begin, end);
        t.kind =
            strspn(t.begin, "0123456789+-.") >= (size_t)(t.end - t.begin) ? PDF_NUMBER : PDF_WORD;
    }
    return t;
}

bool pdf_token_is(PdfToken t, const char *text)
{
    const size_t length = strlen(text);
    return (size_t)(t.end - t.begin) == length && !memcmp(t.begin, text, length);
}

/* ---- values ---- */

/* Fills where the reference ends; 0: it is none. */
static long read_reference(const PdfFile *f, const char *value, const char **end_out)
{
    const PdfToken number = pdf_token(f, value);
    if (number.kind != PDF_NUMBER) return 0;
    const PdfToken generation = pdf_token(f, number.end);
    if (generation.kind != PDF_NUMBER) return 0;
    const PdfToken word = pdf_token(f, generation.end);
    if (!pdf_token_is(word, "R")) return 0;
    *end_out = word.end;
    const long n = strtol(number.begin, NULL, 10);
    return n > 0 && n < f->objects ? n : 0;
}

long pdf_reference(const PdfFile *f, const char *value)
{
    const char *end;
    return value ? read_reference(f, value, &end) : 0;
}

const char *pdf_resolve(const PdfFile *f, const char *value)
{
    const long number = pdf_reference(f, value);
    if (!number) return value;
    return f->at[number] ? f->bytes + f->at[number] : NULL;
}

const char *pdf_skip(const PdfFile *f, const char *value)
{
    const char *end = value;
    if (read_reference(f, value, &end)) return end;
    int depth = 0;
    do {
        const PdfToken t = pdf_token(f, end);
        depth += (t.kind == PDF_OPEN) - (t.kind == PDF_CLOSE);
        end = t.end;
        if (t.kind == PDF_END) break;
    } while (depth > 0);
    return end;
}

const char *pdf_find(const PdfFile *f, const char *dictionary, const char *key)
{
    if (!dictionary) return NULL;
    PdfToken t = pdf_token(f, dictionary);
    if (!pdf_token_is(t, "<<")) return NULL;
    for (t = pdf_token(f, t.end); t.kind == PDF_NAME; t = pdf_token(f, pdf_skip(f, t.end)))
        if (pdf_token_is(t, key)) return t.end;
    return NULL;
}

long pdf_whole(const PdfFile *f, const char *dictionary, const char *key)
{
    const char *value = pdf_resolve(f, pdf_find(f, dictionary, key));
    return value && pdf_token(f, value).kind == PDF_NUMBER
               ? strtol(pdf_token(f, value).begin, NULL, 10)
               : -1;
}

/* ---- tables ---- */

/* An entry leads to "N 0 obj"; the newest was read first. */
static bool take_entry(PdfFile *f, long number, size_t offset)
{
    if (number >= f->objects || offset >= f->length) return false;
    if (f->at[number]) return true;
    const PdfToken own = pdf_token(f, f->bytes + offset), generation = pdf_token(f, own.end),
                   word = pdf_token(f, generation.end);
    if (own.kind != PDF_NUMBER || strtol(own.begin, NULL, 10) != number ||
        !pdf_token_is(word, "obj"))
        return false;
    f->at[number] = (size_t)(word.end - f->bytes);
    return true;
}

/* The entries of a table; NULL where it is none, else the dictionary of its trailer. `taken`: they
 * are entered, not only passed over. */
static const char *read_table(PdfFile *f, size_t offset, bool taken)
{
    PdfToken t = pdf_token(f, f->bytes + offset);
    if (!pdf_token_is(t, "xref")) return NULL;
    for (t = pdf_token(f, t.end); t.kind == PDF_NUMBER; t = pdf_token(f, t.end)) {
        const long first = strtol(t.begin, NULL, 10);
        t = pdf_token(f, t.end);
        const long count = strtol(t.begin, NULL, 10);
        for (long i = 0; i < count; i++) {
            const PdfToken where = pdf_token(f, t.end),
                           kind = pdf_token(f, pdf_token(f, where.end).end);
            t = kind;
            if (kind.kind != PDF_WORD) return NULL;
            if (taken && pdf_token_is(kind, "n") &&
                !take_entry(f, first + i, strtoul(where.begin, NULL, 10)))
                return NULL;
        }
    }
    return pdf_token_is(t, "trailer") ? t.end : NULL;
}

static size_t newest_table(const PdfFile *f)
{
    static const char word[] = "startxref";
    for (size_t at = f->length; at >= sizeof word; at--)
        if (!memcmp(f->bytes + at - sizeof word + 1, word, sizeof word - 1))
            return strtoul(f->bytes + at, NULL, 10);
    return 0;
}

/* Each table is before the one that is newer, so they end. */
static Status read_tables(PdfFile *f, Fault *fault)
{
    size_t table = newest_table(f);
    const char *trailer = table < f->length ? read_table(f, table, false) : NULL;
    f->trailer = trailer;
    f->objects = trailer ? pdf_whole(f, trailer, "/Size") : 0;
    if (f->objects < 1 || (size_t)f->objects > f->length) return pdf_file_strange(f->path, fault);
    f->at = memory_create((size_t)f->objects, sizeof *f->at);
    if (!f->at) return memory_fault(fault, (size_t)f->objects, sizeof *f->at);
    for (;;) {
        trailer = read_table(f, table, true);
        if (!trailer) return pdf_file_strange(f->path, fault);
        const long before = pdf_whole(f, trailer, "/Prev");
        if (before < 0) break;
        if ((size_t)before >= table) return pdf_file_strange(f->path, fault);
        table = (size_t)before;
    }
    f->root = pdf_resolve(f, pdf_find(f, f->trailer, "/Root"));
    return f->root ? STATUS_OK : pdf_file_strange(f->path, fault);
}

Status pdf_file_read(PdfFile *f, const char *path, Fault *fault)
{
    *f = (PdfFile){.path = path};
    Status status = pdf_file_bytes(&f->bytes, &f->length, path, fault);
    if (!status) status = read_tables(f, fault);
    if (status) pdf_file_clear(f);
    return status;
}

void pdf_file_clear(PdfFile *f)
{
    memory_free(f->bytes);
    memory_free(f->at);
    *f = (PdfFile){0};
}

/* ---- writing ---- */

void pdf_write_text(FILE *file, const char *utf8)
{
    fputs("<FEFF", file);
    for (const unsigned char *s = (const unsigned char *)utf8; *s;) {
        const int more = *s < 0x80 ? 0 : *s < 0xe0 ? 1 : *s < 0xf0 ? 2 : 3;
        unsigned long code = more == 0 ? *s : *s & (0x3fu >> more);
        s++;
        for (int i = 0; i < more && *s; i++) code = code << 6 | (*s++ & 0x3f);
        if (code < 0x10000)
            fprintf(file, "%04lX", code);
        else
            fprintf(file, "%04lX%04lX", 0xd800 + ((code - 0x10000) >> 10), 0xdc00 + (code & 0x3ff));
    }
    fputs(">", file);
}
