/* The page holds the plan as two blocks in script elements: a head in JSON, and the bricks as
 * numbers of seven bits a byte, each brick's place counted from the one before. Both are decoded
 * here by code of its own, and each brick must be that of bricks.csv.
 *
 * Sources: base64, RFC 4648, section 4; numbers of seven bits a byte, the highest bit saying that
 * more follow, as LEB128 of DWARF 5, 7.6. */
#include "check/check_page.h"

#include "base/digest.h"
#include "base/folder.h"
#include "base/json_file.h"
#include "base/memory.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char name[] = "book.html";

/* A part of the file. */
typedef struct Span {
    char *start;
    size_t length;
} Span;

typedef struct Reading {
    PlanFacts *e;
    json_t *head;
    unsigned char *code; /* the bricks, decoded */
    size_t length, at;
    uint8_t *used; /* a byte a block */
} Reading;

static void broken_page(const PlanFacts *e, const char *what)
{
    verdict_broken(e->verdict, PROMISE_PAGE, "%s: %s", name, what);
}

/* ---- the blocks ---- */

/* What stands in the script element with this id, and the text of its tag. */
static bool find_script(char *html, const char *id, Span *tag_out, Span *block_out)
{
    char mark[40];
    snprintf(mark, sizeof mark, " id=\"%s\"", id);
    for (char *tag = html; (tag = strstr(tag, "<script ")); tag++) {
        char *open = strchr(tag, '>');
        char *at = strstr(tag, mark);
        if (!open || !at || at > open) continue;
        char *close = strstr(open, "</script>");
        if (!close) return false;
        *tag_out = (Span){tag, (size_t)(open - tag)};
        *block_out = (Span){open + 1, (size_t)(close - open - 1)};
        return true;
    }
    return false;
}

static int digit_of(char c)
{
    if (c >= 'A' && c <= 'Z') return c - 'A';
    if (c >= 'a' && c <= 'z') return c - 'a' + 26;
    if (c >= '0' && c <= '9') return c - '0' + 52;
    return c == '+' ? 62 : c == '/' ? 63 : -1;
}

/* RFC 4648, section 4; line ends are passed over. False where it is something else. */
static bool decode_base64(Reading *r, const Span *block)
{
    unsigned bits = 0, held = 0;
    size_t i = 0;
    for (; i < block->length; i++) {
        const char c = block->start[i];
        if (c == '\n' || c == '\r' || c == ' ') continue;
        if (c == '=') break;
        const int digit = digit_of(c);
        if (digit < 0) return false;
        bits = (bits << 6 | (unsigned)digit) & 0xffffff;
        held += 6;
        if (held < 8) continue;
        held -= 8;
        r->code[r->length++] = (unsigned char)(bits >> held);
    }
    for (; i < block->length; i++)
        if (!strchr("=\n\r ", block->start[i])) return false;
    return true;
}

/* Little-endian base 128; false at the end, or where a number is too large. */
static bool next_number(Reading *r, uint64_t *number_out)
{
    *number_out = 0;
    for (unsigned shift = 0; r->at < r->length && shift < 56; shift += 7) {
        const unsigned char byte = r->code[r->at++];
        *number_out |= (uint64_t)(byte & 127) << shift;
        if (byte < 128) return true;
    }
    return false;
}

/* The page keeps progress under the digest of what it holds. */
static Status check_digest(const Reading *r, const Span *tag, const Span *head, Fault *fault)
{
    Digest *digest;
    char text[DIGEST_TEXT], mark[DIGEST_TEXT + 20];
    const Status status = digest_create(&digest, fault);
    if (status) return status;
    digest_add(digest, head->start, head->length);
    digest_add(digest, r->code, r->length);
    digest_text(digest, text);
    digest_free(digest);
    const size_t length = (size_t)snprintf(mark, sizeof mark, "data-digest=\"%s\"", text);
    if (!memmem(tag->start, tag->length, mark, length))
        broken_page(r->e, "its digest is not that of what it holds");
    return STATUS_OK;
}

/* ---- the head ---- */

static bool is_whole(const json_t *value, long number)
{
    return json_is_number(value) && json_number_value(value) == (double)number;
}

static bool is_text(const json_t *value, const char *text)
{
    return json_is_string(value) && strcmp(json_string_value(value), text) == 0;
}

static void compare_frame(const Reading *r)
{
    const PlanFacts *e = r->e;
    const struct {
        const char *key;
        long number;
    } frame[] = {
        {"columns", e->columns}, {"rows", e->rows}, {"base", e->base}, {"bricks", (long)e->blocks}};
    for (size_t i = 0; i < sizeof frame / sizeof *frame; i++)
        if (!is_whole(json_object_get(r->head, frame[i].key), frame[i].number))
            verdict_broken(e->verdict, PROMISE_PAGE, "%s: %s: must be %ld", name, frame[i].key,
                           frame[i].number);
    if (!is_text(json_object_get(r->head, "build"), e->wall ? "wall" : "plaque"))
        broken_page(e, "build: is not that of plan.json");
}

static bool compare_page_colours(const Reading *r)
{
    const PlanFacts *e = r->e;
    const json_t *list = json_object_get(r->head, "colours");
    bool same = json_array_size(list) == (size_t)e->shades;
    for (size_t i = 0; same && i < (size_t)e->shades; i++) {
        char hex[8];
        const json_t *colour = json_array_get(list, i);
        const uint8_t *rgb = e->shade[i].rgb;
        snprintf(hex, sizeof hex, "#%02x%02x%02x", rgb[0], rgb[1], rgb[2]);
        same = is_text(json_array_get(colour, 0), e->shade[i].id) &&
               is_text(json_array_get(colour, 1), e->shade[i].name) &&
               is_text(json_array_get(colour, 2), hex);
    }
    if (!same) broken_page(e, "colours: are not those of plan.json");
    return same;
}

/* [name, column, row, columns, rows, bricks, ...] a panel, places from 0. */
static bool check_panels_of_page(const Reading *r)
{
    const PlanFacts *e = r->e;
    const json_t *list = json_object_get(r->head, "panels");
    bool same = json_array_size(list) == e->plots;
    for (size_t i = 0; same && i < e->plots; i++) {
        const json_t *panel = json_array_get(list, i);
        const Plot *p = &e->plot[i];
        same = is_text(json_array_get(panel, 0), p->name) &&
               is_whole(json_array_get(panel, 1), p->column) &&
               is_whole(json_array_get(panel, 2), p->row) &&
               is_whole(json_array_get(panel, 3), p->columns) &&
               is_whole(json_array_get(panel, 4), p->rows) &&
               json_number_value(json_array_get(panel, 5)) >= 0 &&
               json_number_value(json_array_get(panel, 5)) <= (double)e->blocks;
    }
    if (!same) broken_page(e, "panels: are not those of plan.json");
    return same;
}

/* Of a panel's bricks so many do not stand, then so many do, and so on in turn; how many do,
 * or -1 where the text is no such list of all of them. */
static double standing_in(const char *text, double bricks)
{
    double standing = 0, all = 0;
    for (int nth = 0; text && *text; nth++) {
        char *end;
        const double length = strtod(text, &end);
        if (end == text || (*end && *end != ',')) return -1;
        all += length;
        if (nth % 2) standing += length;
        text = end + (*end == ',');
    }
    return text && all == bricks ? standing : -1;
}

/* As many must stand as plan.json says. */
static void check_standing(const Reading *r)
{
    const PlanFacts *e = r->e;
    const json_t *list = json_object_get(r->head, "standing"),
                 *panels = json_object_get(r->head, "panels");
    const json_t *built = json_object_get(json_object_get(e->plan, "built"), "bricks");
    bool same = !list || json_array_size(list) == e->plots;
    double standing = 0;
    for (uint32_t i = 0; list && same && i < e->plots; i++) {
        const double bricks = json_number_value(json_array_get(json_array_get(panels, i), 5));
        const double found = standing_in(json_string_value(json_array_get(list, i)), bricks);
        same = found >= 0;
        standing += found;
    }
    if (!same || standing != json_number_value(built))
        broken_page(e, "standing: is not what stands by plan.json");
}

/* ---- the bricks ---- */

/* The format of size `index` of the page, or -1. */
static int format_of(const Reading *r, uint64_t index)
{
    const json_t *size = json_array_get(json_object_get(r->head, "sizes"), (size_t)index);
    const char *text = json_string_value(json_array_get(size, 0));
    return text ? plan_facts_format(r->e, text) : -1;
}

/* A brick of the page as bricks.csv would have it; false where it is none. */
static bool read_brick(Reading *r, uint32_t plot, uint64_t *place, Block *block_out)
{
    const PlanFacts *e = r->e;
    const Plot *p = &e->plot[plot];
    uint64_t kind, colour, step;
    if (!next_number(r, &kind) || !next_number(r, &colour) || !next_number(r, &step)) return false;
    const int format = format_of(r, kind >> 3);
    if (format < 0 || colour >= (uint64_t)e->shades) return false;
    *place += step;
    const double depth = json_number_value(json_object_get(r->head, "depth"));
    const uint64_t columns = (uint64_t)p->columns;
    const uint64_t vs =
        e->wall ? (depth >= 1 && depth <= SIDE_MOST ? (uint64_t)depth : 1) : (uint64_t)p->rows;
    const uint64_t u = *place % columns, v = *place / columns % vs, layer = *place / columns / vs;
    if (layer > SIDE_MOST) return false;
    const bool upright = kind >> 2 & 1;
    const Format *f = &e->format[format];
    const int less = f->a < f->b ? f->a : f->b, more = f->a + f->b - less;
    const int us = upright ? less : more, along_v = us == less ? more : less;
    *block_out = (Block){.column = p->column + (int32_t)u,
                         .row = p->row + (int32_t)(e->wall ? layer : v),
                         .tier = (int32_t)(e->wall ? v : layer),
                         .columns = us,
                         .rows = e->wall ? 1 : along_v,
                         .tiers = e->wall ? along_v : 1,
                         .plot = plot,
                         .shade = (uint8_t)colour,
                         .format = (uint8_t)format,
                         .shown = kind >> 1 & 1};
    return true;
}

/* The brick of bricks.csv at this lowest corner; NULL where there is none. */
static const Block *block_at(const PlanFacts *e, const Block *b)
{
    if (b->tier >= plan_facts_top(e, b->column, b->row)) return NULL;
    const uint32_t owner = *plan_facts_unit(e, b->column, b->row, b->tier);
    const Block *found = owner ? &e->block[owner - 1] : NULL;
    const bool corner = found && found->column == b->column && found->row == b->row &&
                        found->tier == b->tier && found->plot == b->plot;
    return corner ? found : NULL;
}

static void compare_brick(Reading *r, const Block *b)
{
    const PlanFacts *e = r->e;
    char what[200];
    const Block *found = block_at(e, b);
    if (!found)
        snprintf(what, sizeof what, "no brick of bricks.csv starts here");
    else if (r->used[found - e->block])
        snprintf(what, sizeof what, "stands there twice");
    else if (b->shade != found->shade || b->format != found->format || b->shown != found->shown ||
             b->columns != found->columns || b->rows != found->rows || b->tiers != found->tiers)
        snprintf(what, sizeof what, "is %s in '%.16s', but bricks.csv:%d has %s in '%.16s'%s",
                 e->format[b->format].name, e->shade[b->shade].id, found->line,
                 e->format[found->format].name, e->shade[found->shade].id,
                 b->shade == found->shade && b->format == found->format
                     ? ", lying or shown otherwise"
                     : "");
    else
        *what = '\0';
    if (found) r->used[found - e->block] = 1;
    if (*what)
        verdict_broken(e->verdict, PROMISE_PAGE, "%s: panel %.20s, row %d, tier %d, column %d: %s",
                       name, e->plot[b->plot].name, b->row + 1, b->tier + 1, b->column + 1, what);
}

static void check_bricks_of_page(Reading *r)
{
    const PlanFacts *e = r->e;
    const json_t *list = json_object_get(r->head, "panels");
    for (uint32_t plot = 0; plot < e->plots; plot++) {
        const double bricks = json_number_value(json_array_get(json_array_get(list, plot), 5));
        uint64_t place = 0;
        for (double i = 0; i < bricks; i++) {
            const uint64_t before = place;
            Block block;
            if (!read_brick(r, plot, &place, &block)) {
                broken_page(e, "bricks: cannot be read to their end");
                return;
            }
            if (i > 0 && place == before) broken_page(e, "bricks: two stand in one place");
            compare_brick(r, &block);
        }
    }
    if (r->at < r->length) broken_page(e, "bricks: there are more than its panels have");
    for (size_t i = 0; i < e->blocks; i++)
        if (!r->used[i])
            verdict_broken(e->verdict, PROMISE_PAGE, "%s: the brick of bricks.csv:%d is missing",
                           name, e->block[i].line);
}

/* ---- the whole ---- */

static Status check_blocks_of_page(Reading *r, char *html, Fault *fault)
{
    PlanFacts *e = r->e;
    Span tag, head, bricks_tag, bricks;
    if (!find_script(html, "head", &tag, &head) ||
        !find_script(html, "bricks", &bricks_tag, &bricks)) {
        broken_page(e, "holds no plan");
        return STATUS_OK;
    }
    const Status parsed = json_parse(&r->head, head.start, head.length, 0, NULL, fault);
    if (parsed) return parsed;
    r->code = memory_create(bricks.length + 1, 1);
    if (r->code) r->used = memory_create(e->blocks + 1, 1);
    if (!r->used) return memory_fault(fault, bricks.length + 1, 1);
    if (!json_is_object(r->head) || !decode_base64(r, &bricks)) {
        broken_page(e, "its plan cannot be read");
        return STATUS_OK;
    }
    const Status status = check_digest(r, &bricks_tag, &head, fault);
    if (status) return status;
    compare_frame(r);
    const bool coloured = compare_page_colours(r), panelled = check_panels_of_page(r);
    if (panelled) check_standing(r);
    if (coloured && panelled) check_bricks_of_page(r);
    return STATUS_OK;
}

Status check_page(PlanFacts *e, Fault *fault)
{
    if (!e->sound || !e->shades || !json_object_get(json_object_get(e->plan, "files"), name))
        return STATUS_OK;
    char *html;
    size_t length;
    Status status = folder_read(e->folder, name, &html, &length, fault);
    if (status == STATUS_NO_INPUT) return STATUS_OK; /* check_files has said so */
    if (status) return status;
    Reading reading = {.e = e};
    status = check_blocks_of_page(&reading, html, fault);
    json_decref(reading.head);
    memory_free(reading.code);
    memory_free(reading.used);
    memory_free(html);
    return status;
}
