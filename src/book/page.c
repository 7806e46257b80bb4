/* The page is one file that needs nothing beside it: a skeleton in which names in double braces are
 * replaced by the style, the script, a head of JSON and the bricks as a list of small numbers in
 * base64. It is written once its two blocks of data are whole, since it carries their digest, under
 * which a browser keeps what was ticked off.
 *
 * The format of the two blocks is told in the header; the scripts in book/page and check/check_page
 * read it. No text from outside can end a script or start a tag: '<' is never written as it is.
 *
 * Sources: RFC 8259 (JSON), RFC 4648 (base64), WHATWG HTML 13.2.6.4.4 (script data). */
#include "book/page.h"

#include "base/base64.h"
#include "base/csv.h"
#include "base/digest.h"
#include "base/memory.h"
#include "base/output_file.h"
#include "base/text.h"
#include "book/chart.h"
#include "book/legend.h"
#include "book/outline.h"
#include "figures/cautions.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

/* Each ends with a 0. */
extern const char page_html[], page_css[], page_js[];

/* Bytes that grow; the first failure sticks. */
typedef struct Store {
    char *bytes;
    size_t length, capacity;
    Status status;
    Fault *fault;
} Store;

static void store_put(Store *s, const void *bytes, size_t length)
{
    if (!s->status)
        s->status = memory_grow(&s->bytes, &s->capacity, s->length + length, 1, s->fault);
    if (s->status) return;
    memcpy(s->bytes + s->length, bytes, length);
    s->length += length;
}

static void put_text(Store *s, const char *text) { store_put(s, text, strlen(text)); }

static void put_number(Store *s, double value)
{
    char text[NUMBER_TEXT];
    put_text(s, number_print(text, value));
}

static void put_varint(Store *s, uint64_t value)
{
    unsigned char bytes[10];
    size_t n = 0;
    for (; value > 127; value >>= 7) bytes[n++] = (unsigned char)(value | 128);
    bytes[n++] = (unsigned char)value;
    store_put(s, bytes, n);
}

/* A JSON string (RFC 8259) that may stand in a script element: no '<' in it. Names come
 * from palettes, which are UTF-8, and from the file system, which may not be. */
static void put_string(Store *s, const char *text)
{
    store_put(s, "\"", 1);
    for (size_t left = strlen(text); left;) {
        uint32_t point;
        const int bytes = text_point(text, left, &point);
        char code[16];
        if (!bytes)
            store_put(s, "?", 1);
        else if (point < 0x20 || point == '"' || point == '\\' || point == '<' || point == 0x7f)
            store_put(s, code, (size_t)snprintf(code, sizeof code, "\\u%04x", (unsigned)point));
        else
            store_put(s, text, (size_t)bytes);
        text += bytes ? bytes : 1;
        left -= (size_t)(bytes ? bytes : 1);
    }
    store_put(s, "\"", 1);
}

/* ---- the head ---- */

static void put_member(Store *s, const char *name, double value)
{
    put_text(s, ",\"");
    put_text(s, name);
    put_text(s, "\":");
    put_number(s, value);
}

static void put_item(Store *s, double value)
{
    store_put(s, ",", 1);
    put_number(s, value);
}

static void put_alike(Store *s, const Legend *key, int colour)
{
    put_text(s, ",[");
    bool first = true;
    for (int i = 0; i < key->count; i++) {
        if (!key->alike[colour][i]) continue;
        char pair[24];
        snprintf(pair, sizeof pair, "%s[%d,%d]", first ? "" : ",", i, key->alike[colour][i]);
        put_text(s, pair);
        first = false;
    }
    put_text(s, "]");
}

/* [id, name, hex, mark, path of the mark, 1 for white type, colours that are alike] a colour. */
static void put_colour(Store *s, const Palette *palette, const Legend *key, int i,
                       Outlines *outlines)
{
    const Colour *c = &palette->colour[i];
    char hex[16];
    char *path = NULL;
    snprintf(hex, sizeof hex, ",\"#%02x%02x%02x\",", c->srgb[0], c->srgb[1], c->srgb[2]);
    if (!s->status) s->status = outline_path(outlines, key->colour[i].symbol, &path, s->fault);
    put_text(s, i ? ",\n[" : "\n[");
    put_string(s, c->id);
    put_text(s, ",");
    put_string(s, c->name);
    put_text(s, hex);
    put_string(s, key->colour[i].symbol);
    put_text(s, ",");
    put_string(s, path ? path : "");
    put_item(s, key->colour[i].white);
    put_alike(s, key, i);
    put_text(s, "]");
    memory_free(path);
}

static void put_colours(Store *s, const Mural *m, const Legend *key)
{
    Outlines *outlines = NULL;
    if (!s->status) s->status = outlines_create(&outlines, s->fault);
    put_text(s, ",\"colours\":[");
    for (int i = 0; i < m->palette->count && !s->status; i++)
        put_colour(s, m->palette, key, i, outlines);
    put_text(s, "]");
    outlines_free(outlines);
}

static void put_sizes(Store *s, const Sizes *sizes)
{
    put_text(s, ",\"sizes\":[");
    for (int i = 0; i < sizes->count; i++) {
        put_text(s, i ? ",[" : "[");
        put_string(s, sizes->size[i].name);
        put_item(s, sizes->size[i].width);
        put_item(s, sizes->size[i].length);
        put_item(s, sizes->size[i].mass_g);
        put_text(s, "]");
    }
    put_text(s, "]");
}

/* [[name, text], ...] */
static void put_advice(Store *s, const Mural *m, int panel)
{
    PanelAdvice advice[PANEL_ADVICES];
    const int count = panel_advice(m, panel, advice);
    put_text(s, ",[");
    for (int i = 0; i < count; i++) {
        put_text(s, i ? ",[" : "[");
        put_string(s, advice[i].name);
        put_text(s, ",");
        put_string(s, advice[i].text);
        put_text(s, "]");
    }
    put_text(s, "]");
}

/* [name, column, row, columns, rows, bricks, place in the order of hanging, advice] a panel. */
static void put_panels(Store *s, const Mural *m)
{
    const size_t count = (size_t)m->panels->count;
    int *hanging = memory_create(count, sizeof *hanging);
    if (!hanging) {
        if (!s->status) s->status = memory_fault(s->fault, count, sizeof *hanging);
        return;
    }
    chart_hanging(m->panels, hanging);
    put_text(s, ",\"panels\":[");
    for (int i = 0; i < m->panels->count; i++) {
        const Panel *p = &m->panels->panel[i];
        size_t first, bricks;
        chart_panel(m, i, &first, &bricks);
        put_text(s, i ? ",\n[" : "\n[");
        put_string(s, p->name);
        put_item(s, p->column);
        put_item(s, p->row);
        put_item(s, p->columns);
        put_item(s, p->rows);
        put_item(s, (double)bricks);
        put_item(s, hanging[i]);
        put_advice(s, m, i);
        put_text(s, "]");
    }
    put_text(s, "]");
    memory_free(hanging);
}

/* The panel's bricks as lengths of stretches in building order: how many do not stand, then how
 * many do, and so on in turn. The page keeps its progress in the same form. */
static void put_standing_of(Store *s, const Mural *m, int panel)
{
    size_t first, count;
    chart_panel(m, panel, &first, &count);
    bool stands = false;
    for (size_t at = first; at < first + count; stands = !stands) {
        const size_t from = at;
        while (at < first + count && m->stands[at] == stands) at++;
        if (stands || from > first) store_put(s, ",", 1);
        put_number(s, (double)(at - from));
    }
}

/* Only where something stands. */
static void put_standing(Store *s, const Mural *m)
{
    if (!m->stands) return;
    put_text(s, ",\"standing\":[");
    for (int i = 0; i < m->panels->count; i++) {
        put_text(s, i ? ",\"" : "\"");
        put_standing_of(s, m, i);
        store_put(s, "\"", 1);
    }
    put_text(s, "]");
}

static void put_head(Store *s, const Mural *m, const Legend *key)
{
    put_text(s, "{\"title\":");
    put_string(s, mural_title(m));
    put_text(s, chart_is_wall(m) ? ",\"build\":\"wall\"" : ",\"build\":\"plaque\"");
    put_member(s, "columns", m->grid->columns);
    put_member(s, "rows", m->grid->rows);
    put_member(s, "base", m->solid.base);
    put_member(s, "depth", solid_depth(&m->solid));
    put_member(s, "bricks", (double)m->laid->count);
    put_member(s, "cellWidth", m->cell_width_mm);
    put_member(s, "cellHeight", m->cell_height_mm);
    put_member(s, "step", m->step_mm);
    put_colours(s, m, key);
    put_sizes(s, m->sizes);
    put_panels(s, m);
    put_standing(s, m);
    put_text(s, ",\"cautions\":[");
    for (int i = 0; i < m->cautions; i++) {
        if (i) put_text(s, ",\n");
        put_string(s, m->caution[i]);
    }
    put_text(s, "]}");
}

/* ---- the bricks ---- */

static uint64_t place_in_panel(const Mural *m, const Brick *b)
{
    const Panel *p = &m->panels->panel[b->panel];
    const bool wall = chart_is_wall(m);
    const uint64_t row = (uint64_t)(b->row - p->row), column = (uint64_t)(b->column - p->column);
    const uint64_t layer = wall ? row : b->tier, v = wall ? b->tier : row;
    const uint64_t vs = (uint64_t)(wall ? solid_depth(&m->solid) : p->rows);
    return (layer * vs + v) * (uint64_t)p->columns + column;
}

static unsigned bits_of_kind(const Mural *m, const Brick *b, bool care)
{
    const Size *size = &m->sizes->size[b->size];
    const int vs = chart_is_wall(m) ? b->tiers : b->rows;
    const bool upright = vs > b->columns;
    assert((upright ? vs : b->columns) == size->length &&
           (upright ? b->columns : vs) == size->width);
    (void)size;
    return ((b->size * 2u + upright) * 2u + (b->shown != 0)) * 2u + care;
}

static Status mark_care(char **care_out, const Mural *m, Fault *fault)
{
    char *care = memory_create(m->laid->count, 1);
    if (!care) return memory_fault(fault, m->laid->count, 1);
    for (size_t i = 0; i < m->bond->flaws; i++) {
        const Flaw *flaw = &m->bond->flaw[i];
        if (flaw->kind == FLAW_WEAK || flaw->kind == FLAW_UNSUPPORTED) care[flaw->brick] = 1;
    }
    *care_out = care;
    return STATUS_OK;
}

static void put_bricks(Store *s, const Mural *m)
{
    char *care = NULL;
    if (!s->status) s->status = mark_care(&care, m, s->fault);
    uint64_t before = 0;
    for (size_t i = 0; i < m->laid->count && !s->status; i++) {
        const Brick *b = &m->laid->brick[i];
        if (i && b->panel != b[-1].panel) before = 0;
        const uint64_t place = place_in_panel(m, b);
        put_varint(s, bits_of_kind(m, b, care[i]));
        put_varint(s, b->colour);
        put_varint(s, place - before);
        before = place;
    }
    memory_free(care);
}

/* ---- the file ---- */

/* In lines short enough for editors. */
static void write_base64(FILE *file, const char *bytes, size_t length)
{
    enum { LINE = 900 }; /* bytes, a multiple of 3 */
    char group[4];
    for (size_t i = 0; i < length; i += 3) {
        if (i % LINE == 0) putc('\n', file);
        base64_group((const unsigned char *)bytes + i, length - i, group);
        fwrite(group, 1, sizeof group, file);
    }
    putc('\n', file);
}

static void write_title(FILE *file, const char *text)
{
    for (size_t left = strlen(text); left;) {
        uint32_t point;
        const int bytes = text_point(text, left, &point);
        if (!bytes || point < 0x20 || point == 0x7f)
            putc('?', file);
        else if (point == '&' || point == '<')
            fprintf(file, "&#%u;", (unsigned)point);
        else
            fwrite(text, 1, (size_t)bytes, file);
        text += bytes ? bytes : 1;
        left -= (size_t)(bytes ? bytes : 1);
    }
}

typedef struct PageParts {
    const char *title;
    const char *digest;
    const Store *head, *bricks;
} PageParts;

/* Writes what takes the place of this name in double braces. */
static void write_part(FILE *file, const PageParts *p, const char *name, size_t length)
{
    const char *const names[] = {"title", "digest", "style", "script", "head", "bricks"};
    size_t i = 0;
    while (i < 6 && (strlen(names[i]) != length || memcmp(names[i], name, length))) i++;
    assert(i < 6);
    if (i == 0) write_title(file, p->title);
    if (i == 1) fputs(p->digest, file);
    if (i == 2) fputs(page_css, file);
    if (i == 3) fputs(page_js, file);
    if (i == 4) fwrite(p->head->bytes, 1, p->head->length, file);
    if (i == 5) write_base64(file, p->bricks->bytes, p->bricks->length);
}

static void write_page(FILE *file, const PageParts *p)
{
    const char *from = page_html, *open;
    while ((open = strstr(from, "{{"))) {
        const char *close = strstr(open, "}}");
        assert(close);
        fwrite(from, 1, (size_t)(open - from), file);
        write_part(file, p, open + 2, (size_t)(close - open - 2));
        from = close + 2;
    }
    fputs(from, file);
}

static Status write_html(const PageParts *p, const char *path, Fault *fault)
{
    FILE *file;
    Status status = output_file_open(&file, path, fault);
    if (status) return status;
    write_page(file, p);
    status = output_file_close(file, path, fault);
    if (status) remove(path);
    return status;
}

/* The digest of both blocks: progress is kept under it. */
static Status digest_plan(const Store *head, const Store *bricks, char text_out[DIGEST_TEXT],
                          Fault *fault)
{
    Digest *digest;
    const Status status = digest_create(&digest, fault);
    if (status) return status;
    digest_add(digest, head->bytes, head->length);
    digest_add(digest, bricks->bytes, bricks->length);
    digest_text(digest, text_out);
    digest_free(digest);
    return STATUS_OK;
}

Status page_write(const Mural *m, const char *path, const Voice *voice, Fault *fault)
{
    Store head = {.fault = fault}, bricks = {.fault = fault};
    char digest[DIGEST_TEXT];
    Legend *key = NULL;
    Status status = legend_of_laid(&key, m->palette, m->laid, fault);
    if (!status) {
        put_head(&head, m, key);
        status = head.status;
    }
    if (!status) {
        put_bricks(&bricks, m);
        status = bricks.status;
    }
    if (!status) status = digest_plan(&head, &bricks, digest, fault);
    const PageParts parts = {mural_title(m), digest, &head, &bricks};
    if (!status) status = write_html(&parts, path, fault);
    voice_progress(voice, "page", 1);
    legend_free(key);
    memory_free(head.bytes);
    memory_free(bricks.bytes);
    return status;
}
