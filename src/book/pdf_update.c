/* The finished file is read back from its end: trailer, cross-reference table, then the objects.
 * The catalogue, pages, links and the structure elements of figures and heads are written again at
 * the end with what they lack, and the XMP anew; then a table of just these and a trailer that
 * points to the one before.
 *
 * Bytes that were there are never changed. Only files as cairo 1.16 writes them are understood, and
 * any other is a fault before a byte is written.
 *
 * What a reader needs of ISO 14289-1 (PDF/UA-1) is here; its mark is not, for heads and rules of
 * pages would have to be artifacts, of which cairo 1.16 knows nothing.
 *
 * Source: ISO 32000-1:2008, 7.5 (file structure), 7.5.6 (incremental updates), 12.5.2 (/Contents
 * and /F of annotations), 14.3.2 (XMP), 14.8.5.7 (/Scope), 14.9.3 (alternative descriptions); ISO
 * 14289-1, 7.18.3 (/Tabs). */
#include "book/pdf_update.h"

#include "base/memory.h"
#include "base/output_file.h"
#include "book/pdf_file.h"

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

/* Reads an object from "<<" to the ">>" before its endobj into u->text. */
static Status read_object(Update *u, long offset, size_t *length_out)
{
    size_t got;
    for (;;) {
        Status status = read_at(u, offset, u->text, u->room, &got);
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

static Status amend_root(Update *u, const char *entry, const PdfUpdate *amendment)
{
    size_t length;
    Status status = read_object(u, strtol(entry, NULL, 10), &length);
    if (status) return status;
    if (!strstr(u->text, "/Catalog")) return not_ours(u, "its root is no catalogue");
    const int marked = strstr(u->text, "/MarkInfo") != NULL;
    status = begin_object(u, u->root);
    if (status) return status;
    fprintf(u->file,
            "%s   /Lang (%s)\n   /ViewerPreferences << /DisplayDocTitle true >>\n"
            "   /Metadata %ld 0 R\n%s>>\nendobj\n",
            u->text, amendment->language, u->objects,
            marked ? "" : "   /MarkInfo << /Marked true >>\n");
    return STATUS_OK;
}

/* ---- XMP ---- */

static void write_escaped(FILE *file, const char *text)
{
    for (; *text; text++) {
        const char *mark = *text == '&'   ? "&amp;"
                           : *text == '<' ? "&lt;"
                           : *text == '>' ? "&gt;"
                                          : NULL;
        if (mark)
            fputs(mark, file);
        else if ((unsigned char)*text >= ' ')
            fputc(*text, file);
    }
}

/* The packet in RDF/XML; its length is only known once it is written, and goes into an object of
 * its own after it. */
static Status write_metadata(Update *u, const PdfUpdate *amendment)
{
    const long number = u->objects;
    Status status = begin_object(u, number);
    if (status) return status;
    fprintf(u->file, "<< /Type /Metadata /Subtype /XML /Length %ld 0 R >>\nstream\n", number + 1);
    const long begin = ftell(u->file);
    fputs("<?xpacket begin=\"\xef\xbb\xbf\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n"
          "<x:xmpmeta xmlns:x=\"adobe:ns:meta/\">\n"
          "<rdf:RDF xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\">\n"
          "<rdf:Description rdf:about=\"\" xmlns:dc=\"http://purl.org/dc/elements/1.1/\" "
          "xmlns:xmp=\"http://ns.adobe.com/xap/1.0/\">\n"
          "<dc:title><rdf:Alt><rdf:li xml:lang=\"x-default\">",
          u->file);
    write_escaped(u->file, amendment->title);
    fprintf(u->file,
            "</rdf:li></rdf:Alt></dc:title>\n"
            "<dc:language><rdf:Bag><rdf:li>%s</rdf:li></rdf:Bag></dc:language>\n"
            "<xmp:CreatorTool>rowlock</xmp:CreatorTool>\n<xmp:CreateDate>%s</xmp:CreateDate>\n"
            "</rdf:Description>\n</rdf:RDF>\n</x:xmpmeta>\n<?xpacket end=\"r\"?>",
            amendment->language, amendment->date);
    const long length = ftell(u->file) - begin;
    fputs("\nendstream\nendobj\n", u->file);
    status = begin_object(u, number + 1);
    if (status) return status;
    fprintf(u->file, "%ld\nendobj\n", length);
    u->objects += 2;
    return STATUS_OK;
}

/* ---- what lacks something ---- */

typedef enum Kind { KIND_OTHER, KIND_PAGE, KIND_LINK, KIND_FIGURE, KIND_HEAD, KINDS } Kind;

/* What stands near the start of such an object. */
static const char *const kind_mark[KINDS] = {[KIND_PAGE] = "/Type /Page ",
                                             [KIND_LINK] = "/Subtype /Link",
                                             [KIND_FIGURE] = "/S /Figure\n",
                                             [KIND_HEAD] = "/S /TH\n"};

static Kind kind_of(const char *head)
{
    for (int kind = KIND_PAGE; kind < KINDS; kind++)
        if (strstr(head, kind_mark[kind])) return (Kind)kind;
    return KIND_OTHER;
}

/* How many of each kind there were. */
typedef struct Seen {
    size_t count[KINDS];
} Seen;

static void write_lack(Update *u, Kind kind, size_t nth, const PdfUpdate *amendment)
{
    if (kind == KIND_PAGE) fputs("   /Tabs /S\n", u->file);
    if (kind == KIND_HEAD)
        fprintf(u->file, "   /A << /O /Table /Scope /%s >>\n",
                amendment->column[nth] ? "Column" : "Row");
    if (kind == KIND_LINK) {
        fputs("   /F 4 /Contents ", u->file);
        pdf_write_text(u->file, amendment->link[nth]);
    }
    if (kind == KIND_FIGURE) {
        fputs("   /Alt ", u->file);
        pdf_write_text(u->file, amendment->alternative[nth]);
    }
}

static Status amend_object(Update *u, long number, const char *entry, Seen *seen,
                           const PdfUpdate *amendment)
{
    const size_t most[KINDS] = {[KIND_PAGE] = SIZE_MAX,
                                [KIND_LINK] = amendment->links,
                                [KIND_FIGURE] = amendment->alternatives,
                                [KIND_HEAD] = amendment->heads};
    char head[128];
    size_t got, length;
    if (entry[17] != 'n') return STATUS_OK;
    const long offset = strtol(entry, NULL, 10);
    Status status = read_at(u, offset, head, sizeof head, &got);
    /* Not of the object after it. */
    char *end = strstr(head, "endobj");
    if (end) *end = '\0';
    const Kind kind = status ? KIND_OTHER : kind_of(head);
    if (kind == KIND_OTHER) return status;
    const size_t nth = seen->count[kind]++;
    if (nth >= most[kind]) return STATUS_OK;
    status = read_object(u, offset, &length);
    if (!status) status = begin_object(u, number);
    if (status) return status;
    fputs(u->text, u->file);
    write_lack(u, kind, nth, amendment);
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

/* Walks the table: each object gets what it lacks. */
static Status amend_objects(Update *u, const char *table, const PdfUpdate *amendment)
{
    Seen seen = {{0}};
    const long objects = u->objects;
    Status status = amend_root(u, table + u->root * ENTRY, amendment);
    if (!status) status = write_metadata(u, amendment);
    for (long number = 1; number < objects && !status; number++)
        status = amend_object(u, number, table + number * ENTRY, &seen, amendment);
    if (!status &&
        (seen.count[KIND_FIGURE] != amendment->alternatives ||
         seen.count[KIND_LINK] != amendment->links || seen.count[KIND_HEAD] != amendment->heads))
        status = not_ours(u, "a figure, link or head has lost its place in the structure");
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
