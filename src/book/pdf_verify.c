/* One pass over the file's bytes, from stream to stream. Each stream is unpacked to its end, where
 * zlib holds it to its checksum. In what is unpacked the glyphs of strings are counted that an
 * operator shows; between streams, pages and typefaces are. All three must come to what was drawn.
 *
 * cairo 1.16 writes a glyph of a Latin typeface as a byte of a literal string, and of others as
 * four digits of a hexadecimal one.
 *
 * Source: ISO 32000-1:2008, 7.3.4 (strings), 7.3.8 (streams), 7.7.3.3 (pages), 9.4.3 (showing
 * text), 9.8 (font descriptors). */
#include "book/pdf_verify.h"

#include "base/memory.h"
#include "book/pdf_file.h"

#include <ctype.h>
#include <stdbool.h>
#include <string.h>
#define ZLIB_CONST
#include <zlib.h>

enum { BLOCK = 64 * 1024, DIGITS_A_GLYPH = 4 };

/* A content stream as it is read, byte by byte; any stream of text may be read so. */
typedef struct Content {
    enum { OUTSIDE, LITERAL, ESCAPE, HEXADECIMAL } inside;
    int octal;       /* digits of an escape that are still to be passed over */
    long characters; /* of literal strings that nothing has shown yet */
    long digits;     /* of hexadecimal ones */
    char last;       /* outside strings */
    long glyphs;     /* shown */
} Content;

typedef struct Found {
    long pages, glyphs, typefaces, outlines; /* outlines of typefaces: streams */
    bool no_room;                            /* to unpack */
    bool updated;                            /* the first table is passed */
} Found;

/* ---- what a content stream shows ---- */

static void take_literal(Content *c, char byte)
{
    if (c->octal && byte >= '0' && byte <= '7') {
        c->octal--;
        return;
    }
    c->octal = 0;
    if (byte == '\\') {
        c->inside = ESCAPE;
        return;
    }
    if (byte == ')')
        c->inside = OUTSIDE;
    else
        c->characters++;
}

static void take_escape(Content *c, char byte)
{
    c->inside = LITERAL;
    c->characters++;
    c->octal = byte >= '0' && byte <= '7' ? 2 : 0;
}

/* Tj and TJ show the strings before them; any other word leaves them unshown. */
static void take_outside(Content *c, char byte)
{
    if (byte == '(') c->inside = LITERAL;
    if (byte == '<') c->inside = HEXADECIMAL;
    if (c->last == 'T' && (byte == 'j' || byte == 'J'))
        c->glyphs += c->characters + c->digits / DIGITS_A_GLYPH;
    if (isalpha((unsigned char)byte) && byte != 'T') c->characters = c->digits = 0;
    c->last = byte;
}

static void take_byte(Content *c, char byte)
{
    switch (c->inside) {
    case OUTSIDE:
        take_outside(c, byte);
        break;
    case LITERAL:
        take_literal(c, byte);
        break;
    case ESCAPE:
        take_escape(c, byte);
        break;
    case HEXADECIMAL:
        if (isxdigit((unsigned char)byte))
            c->digits++;
        else
            c->inside = OUTSIDE;
        break;
    }
}

/* Most of a content stream are numbers, which change nothing but what was read last. */
static bool is_number(char byte)
{
    return (byte >= '0' && byte <= '9') || byte == '.' || byte == ' ' || byte == '-';
}

static void take_bytes(Content *c, const char *bytes, const char *end)
{
    for (const char *b = bytes; b < end;) {
        const char *number = b;
        if (c->inside == OUTSIDE)
            while (b < end && is_number(*b)) b++;
        if (b > number) c->last = b[-1];
        if (b < end) take_byte(c, *b++);
    }
}

/* ---- streams ---- */

static bool holds(const char *begin, const char *end, const char *word)
{
    return memmem(begin, (size_t)(end - begin), word, strlen(word)) != NULL;
}

static voidpf zlib_take(voidpf context, uInt count, uInt size)
{
    void *block = memory_create(count, size);
    if (!block) ((Found *)context)->no_room = true;
    return block;
}
static void zlib_give(voidpf context, voidpf block)
{
    (void)context;
    memory_free(block);
}

/* Unpacks the stream at `at`; where it ends, or NULL where it is broken. Its glyphs are counted
 * where it is text. */
static const char *unpack(Found *found, const char *at, const char *end, bool text)
{
    static const char mark[] = "endstream";
    z_stream z = {.zalloc = zlib_take, .zfree = zlib_give, .opaque = found};
    Content content = {.inside = OUTSIDE};
    unsigned char block[BLOCK];
    if (inflateInit(&z) != Z_OK) return NULL;
    z.next_in = (const unsigned char *)at;
    int got = Z_OK;
    while (got == Z_OK) {
        const size_t left = (size_t)(end - (const char *)z.next_in);
        z.avail_in = left < (1u << 30) ? (uInt)left : 1u << 30;
        z.next_out = block;
        z.avail_out = BLOCK;
        got = inflate(&z, Z_NO_FLUSH);
        if (text) take_bytes(&content, (const char *)block, (const char *)z.next_out);
    }
    const char *after = (const char *)z.next_in;
    inflateEnd(&z);
    while (after < end && isspace((unsigned char)*after)) after++;
    if (got != Z_STREAM_END || (size_t)(end - after) < sizeof mark ||
        memcmp(after, mark, sizeof mark - 1) != 0)
        return NULL;
    found->glyphs += content.glyphs;
    return after + sizeof mark - 1;
}

/* ---- the file ---- */

static long count_words(const char *begin, const char *end, const char *word)
{
    long count = 0;
    const size_t length = strlen(word);
    for (const char *c = begin; (c = memmem(c, (size_t)(end - c), word, length)); c += length)
        count++;
    return count;
}

/* What lies between streams. What comes after the first table is an update, ISO 32000-1, 7.5.6, and
 * has objects again. */
static void take_objects(Found *found, const char *begin, const char *end)
{
    static const char table[] = "\nstartxref\n";
    if (found->updated) return;
    const char *first = memmem(begin, (size_t)(end - begin), table, sizeof table - 1);
    found->updated = first != NULL;
    if (first) end = first;
    found->pages +=
        count_words(begin, end, "/Type /Page ") + count_words(begin, end, "/Type /Page\n");
    found->typefaces += count_words(begin, end, "/Type /FontDescriptor");
}

/* Streams that are not packed hold nothing that is counted, and are passed over. */
static bool take_file(Found *found, const char *bytes, size_t length)
{
    static const char mark[] = ">>\nstream\n";
    const char *at = bytes, *end = bytes + length;
    for (;;) {
        const char *stream = memmem(at, (size_t)(end - at), mark, sizeof mark - 1);
        take_objects(found, at, stream ? stream : end);
        if (!stream) return true;
        const char *dictionary = stream;
        while (dictionary > at && memcmp(dictionary, " obj", 4) != 0) dictionary--;
        at = stream + sizeof mark - 1;
        if (!holds(dictionary, stream, "/FlateDecode")) continue;
        const bool outline = holds(dictionary, stream, "/Length1");
        const bool text = !outline && !holds(dictionary, stream, "/Image");
        at = unpack(found, at, end, text);
        if (!at) return false;
        found->outlines += outline;
    }
}

static Status lacks(const char *path, const char *what, Fault *fault)
{
    return fault_set(fault, STATUS_NO_RESOURCE,
                     "%s: %s, as where memory runs out; free memory, or plan a smaller mural", path,
                     what);
}

Status pdf_verify(const char *path, const PdfDrawn *drawn, Fault *fault)
{
    char *bytes = NULL;
    size_t length = 0;
    Found found = {0};
    const Status status = pdf_file_bytes(&bytes, &length, path, fault);
    if (status) return status;
    const bool whole = take_file(&found, bytes, length);
    memory_free(bytes);
    if (found.no_room) return memory_fault(fault, BLOCK, 1);
    if (!whole) return lacks(path, "a part of it is cut", fault);
    if (found.pages != drawn->pages) return lacks(path, "pages of it are missing", fault);
    if (found.glyphs != drawn->glyphs) return lacks(path, "text of it is missing", fault);
    if (found.outlines != found.typefaces) return lacks(path, "a typeface of it is missing", fault);
    return STATUS_OK;
}
