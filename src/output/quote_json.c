/* The figures of figures/quote.h as they are, none of them reckoned here. What is uncertain is an
 * object of least, expected and most; what is not priced is 0. Source: JSON, RFC 8259. */
#include "output/quote_json.h"

#include "base/file_format.h"

#include <stdio.h>
#include <string.h>

static json_t *span_json(Making *k, Span s)
{
    json_t *o = json_object();
    json_set(k, o, "least", json_real(s.least));
    json_set(k, o, "expected", json_real(s.expected));
    json_set(k, o, "most", json_real(s.most));
    return o;
}

/* Bricks of each size, or colour, that the mural uses. */
static json_t *sums_json(Making *k, const Mural *m, bool by_colour)
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
        json_set(k, o, by_colour ? "colour" : "size",
                 json_string(by_colour ? m->palette->colour[kind].id : m->sizes->size[kind].name));
        json_set(k, o, "count", json_integer(count));
        json_set(k, o, "order", json_integer(order));
        json_set(k, o, "price", json_real(price));
        json_append(k, list, o);
    }
    return list;
}

static json_t *crate_json(Making *k, const Mural *m, const Crate *c)
{
    json_t *o = json_object(), *sides = json_array(), *panels = json_array();
    for (int i = 2; i >= 0; i--) json_append(k, sides, json_real(c->side_mm[i]));
    for (int i = c->first; i < c->first + c->panels; i++)
        json_append(k, panels, json_string(m->panels->panel[panels_hung(m->panels, i)].name));
    json_set(k, o, "panels", panels);
    json_set(k, o, "outer_mm", sides);
    json_set(k, o, "panels_kg", json_real(c->panels_kg));
    json_set(k, o, "packed_kg", json_real(c->packed_kg));
    return o;
}

static json_t *gates_json(Making *k, const Quote *q)
{
    static const char *const passing[] = {"flat", "on edge", "no"};
    json_t *list = json_array();
    for (int g = 0; g < GATES; g++) {
        json_t *o = json_object(), *clear = json_array();
        json_append(k, clear, json_real(quote_gates[g].width_mm));
        json_append(k, clear, json_real(quote_gates[g].height_mm));
        json_set(k, o, "name", json_string(quote_gates[g].name));
        json_set(k, o, "clear_mm", clear);
        json_set(k, o, "source", json_string(quote_gates[g].source));
        json_set(k, o, "from_memory", json_boolean(quote_gates[g].from_memory));
        json_set(k, o, "passes", json_string(passing[q->passing[g]]));
        json_set(k, o, "barred", json_integer(q->barred[g]));
        json_append(k, list, o);
    }
    return list;
}

static json_t *bricks_json(Making *k, const Quote *q, const Mural *m)
{
    json_t *o = json_object();
    json_set(k, o, "count", json_integer(q->bricks));
    if (m->standing) json_set(k, o, "built", json_integer(q->built));
    json_set(k, o, "order", json_integer(q->order));
    json_set(k, o, "bought", json_integer(q->bought));
    json_set(k, o, "priced", json_boolean(q->priced));
    json_set(k, o, "price", span_json(k, q->brick_price));
    json_set(k, o, "outlay", json_real(q->outlay));
    json_set(k, o, "by_size", sums_json(k, m, false));
    json_set(k, o, "by_colour", sums_json(k, m, true));
    return o;
}

static json_t *hollow_json(Making *k, const Saving *saving)
{
    json_t *o = json_object();
    json_set(k, o, "shell", json_integer(saving->shell));
    json_set(k, o, "bricks_saved", json_integer(saving->bricks));
    json_set(k, o, "mass_saved_kg", json_real(saving->mass_kg));
    return o;
}

static json_t *whole_quote(Making *k, const Quote *q, const Mural *m)
{
    json_t *o = json_object(), *size = json_array();
    json_append(k, size, json_real(q->width_mm));
    json_append(k, size, json_real(q->height_mm));
    json_append(k, size, json_real(q->depth_mm));
    file_format_set(k, o, FORMAT_QUOTE);
    json_set(k, o, "size_mm", size);
    json_set(k, o, "currency", json_text(m->job->currency));
    json_set(k, o, "bricks", bricks_json(k, q, m));
    json_set(k, o, "sheets", json_integer(q->sheets));
    json_set(k, o, "sheets_price", json_real(q->sheet_price));
    json_set(k, o, "pace", json_real(m->job->pace));
    json_set(k, o, "hours", span_json(k, q->hours));
    json_set(k, o, "rate", json_real(m->job->rate));
    json_set(k, o, "labour", span_json(k, q->labour));
    json_set(k, o, "total", span_json(k, q->total));
    json_set(k, o, "building_days", span_json(k, q->days));
    json_set(k, o, "site_days", json_integer(q->site_days));
    json_set(k, o, "mass_kg", span_json(k, q->mass_kg));
    json_set(k, o, "crates_price", json_real(q->crate_price));
    json_set(k, o, "freight", json_real(q->freight));
    json_set(k, o, "site_price", json_real(q->site_price));
    json_set(k, o, "whole_kg", span_json(k, q->whole_kg));
    if (m->saving.units) json_set(k, o, "hollow", hollow_json(k, &m->saving));
    if (q->colours_within > 0) json_set(k, o, "colours_within_de00", json_real(q->colours_within));
    json_set(k, o, "crates", json_integer(q->crates));
    json_set(k, o, "largest_crate", crate_json(k, m, &q->largest));
    json_set(k, o, "heaviest_crate", crate_json(k, m, &q->heaviest));
    json_set(k, o, "gates", gates_json(k, q));
    return o;
}

json_t *quote_json_document(Making *making, const Mural *mural)
{
    Quote q;
    quote_reckon(&q, mural);
    return whole_quote(making, &q, mural);
}

Status quote_json_write(const Mural *mural, const char *path, Fault *fault)
{
    Making making = {0};
    return json_save(&making, quote_json_document(&making, mural), path, fault);
}
