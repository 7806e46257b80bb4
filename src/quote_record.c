#include "quote_record.h"

#include "memory.h"

#include <jansson.h>

#include <errno.h>
#include <stdio.h>
#include <string.h>

/* As in record.c: one flag gathers whether any call failed. */
typedef struct Making {
    int failed;
} Making;

static void set(Making *k, json_t *object, const char *name, json_t *value)
{
    k->failed |= json_object_set_new(object, name, value) != 0;
}

static void append(Making *k, json_t *array, json_t *value)
{
    k->failed |= json_array_append_new(array, value) != 0;
}

/* The command line need not be UTF-8: what is not becomes '?'. */
static json_t *text(const char *bytes)
{
    json_t *value = json_string(bytes);
    if (value) return value;
    char plain[64];
    snprintf(plain, sizeof plain, "%s", bytes);
    for (char *c = plain; *c; c++)
        if ((unsigned char)*c >= 0x80) *c = '?';
    return json_string(plain);
}

static json_t *span(Making *k, Span s)
{
    json_t *o = json_object();
    set(k, o, "least", json_real(s.least));
    set(k, o, "expected", json_real(s.expected));
    set(k, o, "most", json_real(s.most));
    return o;
}

/* Bricks of each size, or colour, that the mural uses. */
static json_t *sums(Making *k, const Mural *m, bool by_colour)
{
    const int kinds = by_colour ? m->palette->count : m->sizes->count;
    json_t *list = json_array();
    for (int kind = 0; kind < kinds; kind++) {
        long count = 0, order = 0;
        double price = 0;
        for (int i = 0; i < m->parts->count; i++) {
            const Part *p = &m->parts->part[i];
            if ((by_colour ? p->colour : p->size) != kind) continue;
            count += p->count;
            order += p->order;
            price += p->price;
        }
        if (!count) continue;
        json_t *o = json_object();
        set(k, o, by_colour ? "colour" : "size",
            json_string(by_colour ? m->palette->colour[kind].id : m->sizes->size[kind].name));
        set(k, o, "count", json_integer(count));
        set(k, o, "order", json_integer(order));
        set(k, o, "price", json_real(price));
        append(k, list, o);
    }
    return list;
}

static json_t *crate(Making *k, const Mural *m, const Crate *c)
{
    json_t *o = json_object(), *sides = json_array();
    for (int i = 2; i >= 0; i--) append(k, sides, json_real(c->side_mm[i]));
    set(k, o, "panel", json_string(m->panels->panel[c->panel].name));
    set(k, o, "outer_mm", sides);
    set(k, o, "panel_kg", json_real(c->mass_kg));
    return o;
}

static json_t *gates(Making *k, const Quote *q)
{
    static const char *const passing[] = {"flat", "on edge", "no"};
    json_t *list = json_array();
    for (int g = 0; g < GATES; g++) {
        json_t *o = json_object(), *clear = json_array();
        append(k, clear, json_real(quote_gates[g].width_mm));
        append(k, clear, json_real(quote_gates[g].height_mm));
        set(k, o, "name", json_string(quote_gates[g].name));
        set(k, o, "clear_mm", clear);
        set(k, o, "source", json_string(quote_gates[g].source));
        set(k, o, "from_memory", json_boolean(quote_gates[g].from_memory));
        set(k, o, "passes", json_string(passing[q->passing[g]]));
        set(k, o, "barred", json_integer(q->barred[g]));
        append(k, list, o);
    }
    return list;
}

static json_t *bricks(Making *k, const Quote *q, const Mural *m)
{
    json_t *o = json_object();
    set(k, o, "count", json_integer(q->bricks));
    set(k, o, "order", json_integer(q->order));
    set(k, o, "bought", json_integer(q->bought));
    set(k, o, "priced", json_boolean(q->priced));
    set(k, o, "price", span(k, q->brick_price));
    set(k, o, "outlay", json_real(q->outlay));
    set(k, o, "by_size", sums(k, m, false));
    set(k, o, "by_colour", sums(k, m, true));
    return o;
}

static json_t *quote(Making *k, const Quote *q, const Mural *m)
{
    json_t *o = json_object(), *size = json_array();
    append(k, size, json_real(q->width_mm));
    append(k, size, json_real(q->height_mm));
    append(k, size, json_real(q->depth_mm));
    set(k, o, "format", json_string("rowlock-quote"));
    set(k, o, "version", json_integer(1));
    set(k, o, "size_mm", size);
    set(k, o, "currency", text(m->job->currency));
    set(k, o, "bricks", bricks(k, q, m));
    set(k, o, "sheets", json_integer(q->sheets));
    set(k, o, "sheets_price", json_real(q->sheet_price));
    set(k, o, "pace", json_real(m->job->pace));
    set(k, o, "hours", span(k, q->hours));
    set(k, o, "rate", json_real(m->job->rate));
    set(k, o, "labour", span(k, q->labour));
    set(k, o, "total", span(k, q->total));
    set(k, o, "building_days", span(k, q->days));
    set(k, o, "site_days", json_integer(q->site_days));
    set(k, o, "mass_kg", span(k, q->mass_kg));
    set(k, o, "crates", json_integer(q->crates));
    set(k, o, "largest_crate", crate(k, m, &q->largest));
    set(k, o, "heaviest_crate", crate(k, m, &q->heaviest));
    set(k, o, "gates", gates(k, q));
    return o;
}

Status quote_record_write(const Mural *mural, const char *path, Fault *fault)
{
    Quote q;
    Making making = {0};
    quote_reckon(&q, mural);
    json_t *root = quote(&making, &q, mural);
    if (!root || making.failed) {
        json_decref(root);
        return memory_fault(fault, 1, sizeof q);
    }
    FILE *file = fopen(path, "wb");
    if (!file) {
        json_decref(root);
        return fault_set(fault, STATUS_NO_CREATE, "%s: cannot be created (%s); check the folder",
                         path, strerror(errno));
    }
    int broken =
        json_dumpf(root, file, JSON_INDENT(2) | JSON_REAL_PRECISION(12)) || putc('\n', file) == EOF;
    json_decref(root);
    broken |= ferror(file);
    if (fclose(file) || broken)
        return fault_set(fault, STATUS_IO, "%s: cannot be written (%s); free some space", path,
                         strerror(errno));
    return STATUS_OK;
}
