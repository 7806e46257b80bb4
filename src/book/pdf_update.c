/* The finished file is read back from its end: trailer, cross-reference table, then the objects.
 * The catalogue and each figure's structure element are written again at the end with what they
 * lack, then a table of just these and a trailer that points to the one before.
 *
 * Bytes that were there are never changed. Only files as cairo 1.16 writes them are understood, and
 * any other is a fault before a byte is written.
 *
 * Source: ISO 32000-1:2008, 7.5 (file structure), 7.5.6 (incremental updates), 7.9.2.2 (text
 * strings), 14.9.3 (alternative descriptions). */
#include "book/pdf_update.h"

#include "base/memory.h"
#include "base/output_file.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    OBJECT_FIRST = 1 << 16, /* bytes of the room for an object, which grows */
    TAIL = 2048,            /* bytes at the end of the file that hold the trailer */
    ENTRY = 20              /* bytes of an entry of the table: ISO 32000-1, 7.5.4 */
};

/* An object that the update writes again, or anew. */
typedef struct Entry {
    long number, offset;
} Entry;

typedef struct Update {
    FILE *file;
    const char *path;
    Fault *fault;
    long xref, objects; /* of the table in hand: offset and /Size */
    long root, info;
    Entry *entry;
    size_t entries, capacity;
    char *text; /* the object in hand, in a room that grows: the catalogue is longer the more pages
                   there are */
    size_t room;
} Update;

static Status not_ours(const Update *u, const char *what)
{
    return fault_set(u->fault, STATUS_INTERNAL,
                     "%s: %s; please report it with the version of cairo", u->path, what);
}

static Status read_at(Update *u, long offset, char *out, size_t most, size_t *read_out)
{
    if (fseek(u->file, offset, SEEK_SET))
        return fault_set(u->fault, STATUS_IO, "%s: cannot be read back; check the disk", u->path);
    *read_out = fread(out, 1, most - 1, u->file);
    out[*read_out] = '\0';
    if (ferror(u->file))
        return fault_set(u->fault, STATUS_IO, "%s: cannot be read back; check the disk", u->path);
    return STATUS_OK;
}

static long number_after(const char *text, const char *word)
{
    const char *at = strstr(text, word);
    return at ? strtol(at + strlen(word), NULL, 10) : -1;
}

/* The end of the file says where the table is and which object is the root. */
static Status read_trailer(Update *u)
{
    if (fseek(u->file, 0, SEEK_END))
        return fault_set(u->fault, STATUS_IO, "%s: cannot be read back; check the disk", u->path);
    const long size = ftell(u->file);
    size_t got;
    const long from = size > TAIL ? size - TAIL : 0;
    const Status status = read_at(u, from, u->text, TAIL + 1, &got);
    if (status) return status;
    const char *trailer = strstr(u->text, "trailer");
    if (!trailer) return not_ours(u, "its trailer is not where it should be");
    u->objects = number_after(trailer, "/Size ");
    u->root = number_after(trailer, "/Root ");
    u->info = number_after(trailer, "/Info ");
    u->xref = number_after(trailer, "startxref");
    if (u->objects < 1 || u->objects > size / ENTRY || u->root < 1 || u->info < 1 || u->xref < 1 ||
        u->xref >= size)
        return not_ours(u, "its trailer lacks an entry");
    char head[64];
    const Status seen = read_at(u, u->xref, head, sizeof head, &got);
    if (seen) return seen;
    if (strncmp(head, "xref", 4) != 0)
        return not_ours(u, "its cross-reference table is not classic");
    const char *line = strchr(head, '\n');
    char *end;
    if (!line || strtol(line + 1, &end, 10) != 0 || strtol(end, &end, 10) != u->objects)
        return not_ours(u, "its cross-reference table has several sections");
    u->xref += end - head + 1;
    return STATUS_OK;
}

/* Reads object `number` from "<<" to the ">>" before its endobj into u->text, 0 if
 * it does not hold `sought` near its start. */
static Status read_object(Update *u, const char *entry, const char *sought, size_t *length_out)
{
    *length_out = 0;
    if (entry[17] != 'n') return STATUS_OK;
    const long offset = strtol(entry, NULL, 10);
    size_t got;
    Status status = read_at(u, offset, u->text, 128, &got);
    if (status || !strstr(u->text, sought)) return status;
    for (;;) {
        status = read_at(u, offset, u->text, u->room, &got);
        if (status) return status;
        if (got < u->room - 1 || strstr(u->text, "endobj")) break;
        status = memory_grow(&u->text, &u->room, u->room + 1, 1, u->fault);
        if (status) return status;
    }
    char *begin = strstr(u->text, "<<"), *end = strstr(u->text, "endobj");
    if (!begin || !end) return not_ours(u, "an object has no end");
    while (end > begin && *end != '>') end--;
    end--; /* the first of ">>" */
    *length_out = (size_t)(end - begin);
    memmove(u->text, begin, *length_out);
    u->text[*length_out] = '\0';
    return STATUS_OK;
}

static Status begin_object(Update *u, long number)
{
    const Status status =
        memory_grow(&u->entry, &u->capacity, u->entries + 1, sizeof *u->entry, u->fault);
    if (status) return status;
    if (fseek(u->file, 0, SEEK_END)) return not_ours(u, "its end cannot be found");
    u->entry[u->entries++] = (Entry){number, ftell(u->file)};
    fprintf(u->file, "%ld 0 obj\n", number);
    return STATUS_OK;
}

/* A text string of ISO 32000-1, 7.9.2.2: UTF-16BE with its mark, in hexadecimal. */
static void write_text(FILE *file, const char *utf8)
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

static Status amend_root(Update *u, const char *entry, const char *language)
{
    size_t length;
    Status status = read_object(u, entry, "<<", &length);
    if (status) return status;
    if (!strstr(u->text, "/Catalog")) return not_ours(u, "its root is no catalogue");
    const int marked = strstr(u->text, "/MarkInfo") != NULL;
    status = begin_object(u, u->root);
    if (status) return status;
    fprintf(u->file,
            "%s   /Lang (%s)\n   /ViewerPreferences << /DisplayDocTitle true >>\n%s>>\nendobj\n",
            u->text, language, marked ? "" : "   /MarkInfo << /Marked true >>\n");
    return STATUS_OK;
}

static Status amend_figure(Update *u, long number, const char *alternative)
{
    const Status status = begin_object(u, number);
    if (status) return status;
    fputs(u->text, u->file);
    fputs("   /Alt ", u->file);
    write_text(u->file, alternative);
    fputs("\n>>\nendobj\n", u->file);
    return STATUS_OK;
}

static int by_number(const void *left, const void *right)
{
    const Entry *a = left, *b = right;
    return a->number < b->number ? -1 : a->number > b->number;
}

static Status write_table(Update *u, long previous)
{
    if (fseek(u->file, 0, SEEK_END)) return not_ours(u, "its end cannot be found");
    const long at = ftell(u->file);
    qsort(u->entry, u->entries, sizeof *u->entry, by_number);
    fputs("xref\n", u->file);
    for (size_t i = 0; i < u->entries; i++)
        fprintf(u->file, "%ld 1\n%010ld 00000 n \n", u->entry[i].number, u->entry[i].offset);
    fprintf(u->file,
            "trailer\n<< /Size %ld\n   /Root %ld 0 R\n   /Info %ld 0 R\n   /Prev %ld\n>>\n"
            "startxref\n%ld\n%%%%EOF\n",
            u->objects, u->root, u->info, previous, at);
    return STATUS_OK;
}

/* Walks the table: the root gets its entries, each figure its alternative text. */
static Status amend_objects(Update *u, const char *table, const PdfUpdate *amendment)
{
    size_t figure = 0, length;
    Status status = amend_root(u, table + u->root * ENTRY, amendment->language);
    for (long number = 1; number < u->objects && !status; number++) {
        status = read_object(u, table + number * ENTRY, "/S /Figure", &length);
        if (status || !length || figure == amendment->alternatives) continue;
        status = amend_figure(u, number, amendment->alternative[figure++]);
    }
    if (!status && figure != amendment->alternatives)
        status = not_ours(u, "a figure has lost its place in the structure");
    return status;
}

static Status amend_open(Update *u, const PdfUpdate *amendment)
{
    Status status = memory_grow(&u->text, &u->room, OBJECT_FIRST, 1, u->fault);
    if (!status) status = read_trailer(u);
    if (status) return status;
    const size_t bytes = (size_t)u->objects * ENTRY + 1;
    char *table = memory_create(bytes, 1);
    if (!table) return memory_fault(u->fault, bytes, 1);
    const long previous = number_after(u->text, "startxref");
    size_t got;
    status = read_at(u, u->xref, table, bytes, &got);
    if (!status && (got != bytes - 1 || u->root >= u->objects))
        status = not_ours(u, "its cross-reference table breaks off");
    if (!status) status = amend_objects(u, table, amendment);
    if (!status) status = write_table(u, previous);
    memory_free(table);
    return status;
}

Status pdf_update(const char *path, const PdfUpdate *amendment, Fault *fault)
{
    Update u = {.file = fopen(path, "r+b"), .path = path, .fault = fault};
    if (!u.file)
        return fault_set(fault, STATUS_IO, "%s: cannot be read back; check the disk", path);
    Status status = amend_open(&u, amendment);
    const Status closed = output_file_close(u.file, path, status ? NULL : fault);
    if (!status) status = closed;
    memory_free(u.entry);
    memory_free(u.text);
    return status;
}
