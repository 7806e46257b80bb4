/* The objects of each part are written one after another under new numbers, token by token, streams
 * as they are; what a reference leads to is told by a table of the numbers. The roots of what a
 * part has as a tree are hung into the trees of the whole: pages, outline, structure and its
 * parents, whose keys go on from part to part; what was a document is a part of one. Named places
 * of a part are put in where a link names them, so that names of two parts do not meet; the whole
 * has a name for each part's first page.
 *
 * Source: ISO 32000-1:2008, 7.7.3 (page tree), 7.9.6, 7.9.7 (name and number trees), 12.3.2
 * (destinations), 12.3.3 (outline), 12.4.2 (page labels), 14.7 (structure). */
#include "book/pdf_bind.h"

#include "base/memory.h"
#include "base/output_file.h"
#include "book/pdf_file.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

/* Objects of the whole that have their numbers first; then come the bookmarks of the parts. */
enum { CATALOGUE = 1, PAGES, STRUCTURE, DOCUMENT, PARENTS, OUTLINE, PLACES, OWN = PLACES };

enum { PATH_MOST = 512 };

/* What the whole must know of a part; numbers are those of the whole. */
typedef struct Bound {
    long pages, first_page, document, parents, first, last; /* first, last: bookmarks; 0: none */
    long bookmarks;
} Bound;

typedef struct Binding {
    FILE *file;
    const char *path;
    Fault *fault;
    PdfPart *part;
    int parts;
    long *offset; /* of each object */
    size_t capacity;
    long objects, keys; /* of the whole so far; keys: of pages and links in the structure */
    Bound *bound;       /* of each part */
    long info;
    /* The part in hand. */
    PdfFile from;
    long *number; /* in the whole, of each of its objects; 0: left out */
    int nth;
    bool top;     /* the object in hand is the root element of its structure */
    bool placing; /* what a name stands for is being written */
} Binding;

static Status strange(const Binding *b) { return pdf_file_strange(b->from.path, b->fault); }

/* ---- objects ---- */

static void begin_object(Binding *b, long number)
{
    b->offset[number] = ftell(b->file);
    fprintf(b->file, "%ld 0 obj\n", number);
}

static Status new_number(Binding *b, long *number_out)
{
    *number_out = ++b->objects;
    return memory_grow(&b->offset, &b->capacity, (size_t)b->objects + 1, sizeof *b->offset,
                       b->fault);
}

static void put(const Binding *b, PdfToken t)
{
    putc(' ', b->file);
    fwrite(t.begin, 1, (size_t)(t.end - t.begin), b->file);
}

static void put_reference(const Binding *b, long number)
{
    if (number)
        fprintf(b->file, " %ld 0 R", number);
    else
        fputs(" null", b->file);
}

/* ---- links ---- */

/* What a name of the part stands for: NULL, where it has none such. */
static const char *find_place(const PdfFile *f, PdfToken name)
{
    const char *tree = pdf_resolve(f, pdf_find(f, f->root, "/Names"));
    tree = pdf_resolve(f, pdf_find(f, tree, "/Dests"));
    const char *list = pdf_resolve(f, pdf_find(f, tree, "/Names"));
    if (!list) return NULL;
    const size_t length = (size_t)(name.end - name.begin);
    PdfToken t = pdf_token(f, list);
    for (t = pdf_token(f, t.end); t.kind == PDF_STRING; t = pdf_token(f, pdf_skip(f, t.end)))
        if ((size_t)(t.end - t.begin) == length && !memcmp(t.begin, name.begin, length))
            return t.end;
    return NULL;
}

/* A file that the part names, as the whole names it; false where that is no file beside it, or too
 * long. */
static bool whole_name(const Binding *b, PdfToken uri, char name[PATH_MOST])
{
    const char *own = b->part[b->nth].name, *slash = strrchr(own, '/');
    const int folder = slash ? (int)(slash + 1 - own) : 0;
    const int length = (int)(uri.end - uri.begin) - 2; /* without its brackets */
    if (length < 1 || folder + length >= PATH_MOST || uri.begin[1] == '#' ||
        memchr(uri.begin, ':', (size_t)length))
        return false;
    snprintf(name, PATH_MOST, "%.*s%.*s", folder, own, length, uri.begin + 1);
    return true;
}

static int find_part(const Binding *b, const char *name)
{
    for (int i = 0; i < b->parts; i++)
        if (!strcmp(b->part[i].name, name)) return i;
    return -1;
}

/* Of an action that leads to a part, where it leads within the whole; else -1. */
static int leads_to(const Binding *b, const char *action)
{
    char name[PATH_MOST];
    const char *value = pdf_find(&b->from, action, "/URI");
    if (!value) return -1;
    const PdfToken uri = pdf_token(&b->from, value);
    return uri.kind == PDF_STRING && whole_name(b, uri, name) ? find_part(b, name) : -1;
}

/* ---- values ---- */

static const char *copy_value(Binding *b, const char *value, const char *more, Status *status);

/* A named place, put in where the name stood; one that leads on to a name is none. */
static void copy_place(Binding *b, PdfToken name, Status *status)
{
    const char *place = b->placing ? NULL : find_place(&b->from, name);
    if (!place) *status = strange(b);
    if (!place) return;
    fputs(" /Dest", b->file);
    b->placing = true;
    copy_value(b, place, "", status);
    b->placing = false;
}

/* What follows a key and is not as it was: where it ends, or NULL where it is. */
static const char *copy_changed(Binding *b, PdfToken key, Status *status)
{
    const PdfFile *f = &b->from;
    const PdfToken value = pdf_token(f, key.end);
    char name[PATH_MOST];
    if (value.kind == PDF_NUMBER &&
        (pdf_token_is(key, "/StructParents") || pdf_token_is(key, "/StructParent"))) {
        put(b, key);
        fprintf(b->file, " %ld", strtol(value.begin, NULL, 10) + b->keys);
    } else if (b->top && pdf_token_is(key, "/S")) {
        fputs(" /S /Part", b->file);
    } else if (pdf_token_is(key, "/Dest") && value.kind == PDF_STRING) {
        copy_place(b, value, status);
    } else if (pdf_token_is(key, "/URI") && value.kind == PDF_STRING &&
               whole_name(b, value, name)) {
        fprintf(b->file, " /URI (%s)", name);
    } else if (pdf_token_is(key, "/A") && leads_to(b, key.end) >= 0) {
        fprintf(b->file, " /Dest (%03d)", leads_to(b, key.end));
        return pdf_skip(f, key.end);
    } else {
        return NULL;
    }
    return value.end;
}

/* Writes a value; `more` goes in where it begins, if it is a dictionary. A name that stands for no
 * place is a fault. Returns where the value ends. */
static const char *copy_value(Binding *b, const char *value, const char *more, Status *status)
{
    const PdfFile *f = &b->from;
    const char *end = value;
    int depth = 0;
    do {
        const PdfToken t = pdf_token(f, end);
        const long reference = t.kind == PDF_NUMBER ? pdf_reference(f, end) : 0;
        const char *changed = t.kind == PDF_NAME ? copy_changed(b, t, status) : NULL;
        if (t.kind == PDF_END) *status = strange(b);
        if (reference) {
            put_reference(b, b->number[reference]);
            end = pdf_skip(f, end);
        } else if (changed) {
            end = changed;
        } else {
            put(b, t);
            if (end == value && t.kind == PDF_OPEN) fputs(more, b->file);
            depth += (t.kind == PDF_OPEN) - (t.kind == PDF_CLOSE);
            end = t.end;
        }
    } while (depth > 0 && !*status);
    return end;
}

/* The bytes of a stream, which begin after the line of the word. */
static Status copy_stream(Binding *b, const char *dictionary, PdfToken word)
{
    const PdfFile *f = &b->from;
    const long length = pdf_whole(f, dictionary, "/Length");
    const char *begin = word.end + (*word.end == '\r');
    const size_t left = (size_t)(f->bytes + f->length - begin);
    if (*begin != '\n' || length < 0 || (size_t)length + 1 > left) return strange(b);
    if (!pdf_token_is(pdf_token(f, begin + 1 + length), "endstream")) return strange(b);
    fputs("\nstream", b->file);
    fwrite(begin, 1, (size_t)length + 1, b->file);
    fputs("\nendstream", b->file);
    return STATUS_OK;
}

static Status copy_object(Binding *b, long own, const char *more)
{
    const PdfFile *f = &b->from;
    const char *value = f->bytes + f->at[own];
    Status status = STATUS_OK;
    b->top = b->number[own] == b->bound[b->nth].document;
    begin_object(b, b->number[own]);
    const PdfToken after = pdf_token(f, copy_value(b, value, more, &status));
    if (!status && pdf_token_is(after, "stream"))
        status = copy_stream(b, value, after);
    else if (!status && !pdf_token_is(after, "endobj"))
        status = strange(b);
    fputs("\nendobj\n", b->file);
    return status;
}

/* ---- the roots of a part ---- */

/* Numbers in the part, 0 where it has no such thing. */
typedef struct Roots {
    long catalogue, pages, outline, structure, parents, names, places, labels, info;
} Roots;

static Roots find_roots(const PdfFile *f)
{
    const char *structure = pdf_find(f, f->root, "/StructTreeRoot");
    const char *names = pdf_find(f, f->root, "/Names");
    return (Roots){.catalogue = pdf_reference(f, pdf_find(f, f->trailer, "/Root")),
                   .info = pdf_reference(f, pdf_find(f, f->trailer, "/Info")),
                   .pages = pdf_reference(f, pdf_find(f, f->root, "/Pages")),
                   .outline = pdf_reference(f, pdf_find(f, f->root, "/Outlines")),
                   .structure = pdf_reference(f, structure),
                   .parents =
                       pdf_reference(f, pdf_find(f, pdf_resolve(f, structure), "/ParentTree")),
                   .names = pdf_reference(f, names),
                   .places = pdf_reference(f, pdf_find(f, pdf_resolve(f, names), "/Dests")),
                   .labels = pdf_reference(f, pdf_find(f, f->root, "/PageLabels"))};
}

/* New numbers for all that is copied; of what is hung into a tree of the whole that of its place.
 */
static Status number_objects(Binding *b, const Roots *r)
{
    const PdfFile *f = &b->from;
    b->number = memory_create((size_t)f->objects, sizeof *b->number);
    if (!b->number) return memory_fault(b->fault, (size_t)f->objects, sizeof *b->number);
    const long left_out[] = {r->catalogue, r->names, r->places, r->labels, b->nth ? r->info : 0};
    Status status = STATUS_OK;
    for (long i = 1; i < f->objects && !status; i++) {
        bool copied = f->at[i] && i != r->outline && i != r->structure;
        for (size_t k = 0; k < sizeof left_out / sizeof *left_out; k++) copied &= i != left_out[k];
        if (copied) status = new_number(b, &b->number[i]);
    }
    b->number[r->structure] = DOCUMENT;
    b->number[r->outline] = OWN + 1 + b->nth;
    b->number[0] = 0;
    return status;
}

/* The keys of a part's pages and links, each with the elements it is of. */
static Status copy_parents(Binding *b, long own)
{
    const PdfFile *f = &b->from;
    const char *list = pdf_resolve(f, pdf_find(f, f->bytes + f->at[own], "/Nums"));
    Status status = list ? STATUS_OK : strange(b);
    if (status) return status;
    long first = -1, last = -1;
    begin_object(b, b->number[own]);
    fputs("<< /Nums [", b->file);
    PdfToken t = pdf_token(f, pdf_token(f, list).end);
    while (t.kind == PDF_NUMBER && !status) {
        last = strtol(t.begin, NULL, 10) + b->keys;
        if (first < 0) first = last;
        fprintf(b->file, "\n%ld", last);
        t = pdf_token(f, copy_value(b, t.end, "", &status));
    }
    fprintf(b->file, " ] /Limits [%ld %ld] >>\nendobj\n", first, last);
    if (last >= b->keys) {
        b->keys = last + 1;
        b->bound[b->nth].parents = b->number[own];
    }
    return status;
}

/* The one element that the structure has at its top; 0: it has none, or several. */
static long only_document(const PdfFile *f, const char *structure)
{
    const char *top = pdf_find(f, structure, "/K");
    const char *list = pdf_resolve(f, top);
    if (!list || !pdf_token_is(pdf_token(f, list), "[")) return pdf_reference(f, top);
    const char *first = pdf_token(f, list).end;
    return pdf_token_is(pdf_token(f, pdf_skip(f, first)), "]") ? pdf_reference(f, first) : 0;
}

/* What the whole must know of the part, once its objects have numbers. */
static Status take_roots(Binding *b, const Roots *r)
{
    const PdfFile *f = &b->from;
    Bound *bound = &b->bound[b->nth];
    const char *pages = r->pages ? pdf_resolve(f, pdf_find(f, f->root, "/Pages")) : NULL,
               *outline = pdf_resolve(f, pdf_find(f, f->root, "/Outlines")),
               *structure = pdf_resolve(f, pdf_find(f, f->root, "/StructTreeRoot"));
    const char *kids = pdf_resolve(f, pdf_find(f, pages, "/Kids"));
    if (!kids || !r->parents) return strange(b);
    b->part[b->nth].pages = pdf_whole(f, pages, "/Count");
    bound->pages = b->number[r->pages];
    bound->first_page = b->number[pdf_reference(f, pdf_token(f, kids).end)];
    bound->document = b->number[only_document(f, structure)];
    bound->first = b->number[pdf_reference(f, pdf_find(f, outline, "/First"))];
    bound->last = b->number[pdf_reference(f, pdf_find(f, outline, "/Last"))];
    bound->bookmarks = labs(pdf_whole(f, outline, "/Count"));
    return b->part[b->nth].pages > 0 && bound->first_page && bound->document ? STATUS_OK
                                                                             : strange(b);
}

/* ---- a part ---- */

/* What the first part's catalogue says besides trees: its language, its metadata. */
static Status copy_catalogue(Binding *b)
{
    static const char *const trees[] = {"/Type",     "/Pages",      "/StructTreeRoot",
                                        "/Outlines", "/PageLabels", "/Names"};
    const PdfFile *f = &b->from;
    Status status = STATUS_OK;
    PdfToken t = pdf_token(f, f->root);
    for (t = pdf_token(f, t.end); t.kind == PDF_NAME && !status;) {
        const char *end = pdf_skip(f, t.end);
        bool tree = false;
        for (size_t i = 0; i < sizeof trees / sizeof *trees; i++) tree |= pdf_token_is(t, trees[i]);
        if (!tree) {
            put(b, t);
            copy_value(b, t.end, "", &status);
        }
        t = pdf_token(f, end);
    }
    return status;
}

static Status begin_whole(Binding *b, const Roots *r)
{
    const PdfFile *f = &b->from;
    const size_t head = strcspn(f->bytes, "\r\n");
    fwrite(f->bytes, 1, head, b->file); /* the version */
    fputs("\n%\xb5\xed\xae\xfb\n", b->file);
    b->info = b->number[r->info];
    begin_object(b, CATALOGUE);
    fputs("<< /Type /Catalog", b->file);
    const Status status = copy_catalogue(b);
    fprintf(b->file,
            " /PageMode /UseOutlines /Pages %d 0 R /StructTreeRoot %d 0 R /Outlines %d 0 R"
            " /Names << /Dests %d 0 R >>\n/PageLabels %d 0 R >>\nendobj\n",
            PAGES, STRUCTURE, OUTLINE, PLACES, OWN + b->parts + 1);
    return status;
}

static Status copy_objects(Binding *b, const Roots *r)
{
    char parent[40];
    snprintf(parent, sizeof parent, " /Parent %d 0 R", PAGES);
    Status status = STATUS_OK;
    for (long i = 1; i < b->from.objects && !status; i++)
        if (b->number[i] > OWN + b->parts + 1 && i != r->parents)
            status = copy_object(b, i, i == r->pages ? parent : "");
    return status ? status : copy_parents(b, r->parents);
}

static Status bind_part(Binding *b)
{
    Status status = pdf_file_read(&b->from, b->part[b->nth].path, b->fault);
    if (status) return status;
    const Roots roots = find_roots(&b->from);
    status = number_objects(b, &roots);
    if (!status) status = take_roots(b, &roots);
    if (!status && !b->nth) status = begin_whole(b, &roots);
    if (!status) status = copy_objects(b, &roots);
    memory_free(b->number);
    b->number = NULL;
    pdf_file_clear(&b->from);
    return status;
}

/* ---- the trees of the whole ---- */

static void write_pages(Binding *b)
{
    long pages = 0;
    begin_object(b, PAGES);
    fputs("<< /Type /Pages /Kids [", b->file);
    for (int i = 0; i < b->parts; i++) {
        put_reference(b, b->bound[i].pages);
        pages += b->part[i].pages;
    }
    fprintf(b->file, " ] /Count %ld >>\nendobj\n", pages);
}

static void write_structure(Binding *b)
{
    begin_object(b, STRUCTURE);
    fprintf(b->file,
            "<< /Type /StructTreeRoot /K %d 0 R /ParentTree %d 0 R /ParentTreeNextKey %ld >>\n"
            "endobj\n",
            DOCUMENT, PARENTS, b->keys);
    begin_object(b, DOCUMENT);
    fprintf(b->file, "<< /Type /StructElem /S /Document /P %d 0 R /K [", STRUCTURE);
    for (int i = 0; i < b->parts; i++) put_reference(b, b->bound[i].document);
    fputs(" ] >>\nendobj\n", b->file);
    begin_object(b, PARENTS);
    fputs("<< /Kids [", b->file);
    for (int i = 0; i < b->parts; i++)
        if (b->bound[i].parents) put_reference(b, b->bound[i].parents);
    fputs(" ] >>\nendobj\n", b->file);
}

static void write_bookmark(Binding *b, int i)
{
    const Bound *own = &b->bound[i];
    const int number = OWN + 1 + i;
    begin_object(b, number);
    fputs("<< /Title ", b->file);
    pdf_write_text(b->file, b->part[i].title);
    fprintf(b->file, " /Parent %d 0 R", OUTLINE);
    if (i) fprintf(b->file, " /Prev %d 0 R", number - 1);
    if (i + 1 < b->parts) fprintf(b->file, " /Next %d 0 R", number + 1);
    if (own->first)
        fprintf(b->file, " /First %ld 0 R /Last %ld 0 R /Count %ld", own->first, own->last,
                -own->bookmarks);
    fprintf(b->file, " /Dest [%ld 0 R /Fit] >>\nendobj\n", own->first_page);
}

static void write_outline(Binding *b)
{
    begin_object(b, OUTLINE);
    fprintf(b->file, "<< /Type /Outlines /First %d 0 R /Last %d 0 R /Count %d >>\nendobj\n",
            OWN + 1, OWN + b->parts, b->parts);
    for (int i = 0; i < b->parts; i++) write_bookmark(b, i);
    begin_object(b, PLACES);
    fputs("<< /Names [", b->file);
    for (int i = 0; i < b->parts; i++)
        fprintf(b->file, "\n(%03d) [%ld 0 R /Fit]", i, b->bound[i].first_page);
    fputs(" ] >>\nendobj\n", b->file);
}

/* A part's pages are numbered from 1, as they are on paper. */
static void write_labels(Binding *b)
{
    long page = 0;
    begin_object(b, OWN + b->parts + 1);
    fputs("<< /Nums [", b->file);
    for (int i = 0; i < b->parts; i++) {
        fprintf(b->file, "\n%ld << /S /D", page);
        if (*b->part[i].label) {
            fputs(" /P ", b->file);
            pdf_write_text(b->file, b->part[i].label);
        }
        fputs(" >>", b->file);
        page += b->part[i].pages;
    }
    fputs(" ] >>\nendobj\n", b->file);
}

static void write_table(Binding *b)
{
    const long at = ftell(b->file);
    fprintf(b->file, "xref\n0 %ld\n0000000000 65535 f \n", b->objects + 1);
    for (long i = 1; i <= b->objects; i++) fprintf(b->file, "%010ld 00000 n \n", b->offset[i]);
    fprintf(b->file,
            "trailer\n<< /Size %ld /Root %d 0 R /Info %ld 0 R >>\nstartxref\n%ld\n%%%%EOF\n",
            b->objects + 1, CATALOGUE, b->info, at);
}

/* ---- the whole ---- */

static Status stopped(const Binding *b)
{
    return fault_set(b->fault, STATUS_INTERRUPTED, "%s: stopped; run it again", b->path);
}

static Status bind_parts(Binding *b, const Voice *voice)
{
    Status status = STATUS_OK;
    for (int i = 0; i < OWN + b->parts + 1 && !status; i++) {
        long number;
        status = new_number(b, &number);
    }
    for (b->nth = 0; b->nth < b->parts && !status; b->nth++) {
        voice_progress(voice, "binding", (double)b->nth / b->parts);
        status = voice_stopped(voice) ? stopped(b) : bind_part(b);
    }
    if (status) return status;
    write_pages(b);
    write_structure(b);
    write_outline(b);
    write_labels(b);
    write_table(b);
    return STATUS_OK;
}

Status pdf_bind(const char *path, PdfPart *part, int parts, const Voice *voice, Fault *fault)
{
    Binding b = {.path = path, .fault = fault, .part = part, .parts = parts};
    assert(parts > 0 && parts <= PDF_PARTS_MOST);
    Status status = output_file_open(&b.file, path, fault);
    if (status) return status;
    b.bound = memory_create((size_t)parts, sizeof *b.bound);
    status = b.bound ? bind_parts(&b, voice) : memory_fault(fault, (size_t)parts, sizeof *b.bound);
    const Status closed = output_file_close(b.file, path, status ? NULL : fault);
    if (!status) status = closed;
    if (status) remove(path);
    memory_free(b.offset);
    memory_free(b.bound);
    return status;
}
