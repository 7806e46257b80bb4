/* Names are matched and printed numbers compared in one way for all checks: a number in a file
 * stands for all that round to it, so it may be off by half of its last digit, and by what the
 * caller knows its sources to be off. */
#include "check/plan_facts.h"

#include "base/memory.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void plan_facts_clear(PlanFacts *e)
{
    json_decref(e->plan);
    name_table_clear(&e->shade_index);
    name_table_clear(&e->plot_index);
    void *const block[] = {e->cell,  e->top,   e->plot,   e->plot_of,  e->block, e->first, e->owner,
                           e->count, e->built, e->mass_g, e->mass_off, e->core,  e->hold};
    for (size_t i = 0; i < sizeof block / sizeof *block; i++) memory_free(block[i]);
    *e = (PlanFacts){0};
}

/* 1 on, 0 off, -1 not there. */
static int switched(const PlanFacts *e, const char *setting)
{
    const json_t *value = json_object_get(json_object_get(e->plan, "settings"), setting);
    if (!value || json_is_null(value)) return -1;
    if (json_is_boolean(value)) return json_is_true(value);
    if (json_is_number(value)) return json_number_value(value) != 0;
    const char *text = json_string_value(value);
    if (!text) return -1;
    static const char *const off[] = {"", "0", "no", "off", "none", "false"};
    for (size_t i = 0; i < sizeof off / sizeof *off; i++)
        if (strcmp(text, off[i]) == 0) return 0;
    return 1;
}

bool plan_facts_on(const PlanFacts *e, const char *setting) { return switched(e, setting) == 1; }
bool plan_facts_off(const PlanFacts *e, const char *setting) { return switched(e, setting) == 0; }

/* "NxM", each 1 to EXTENT_MOST. */
static bool parse_format(const char *name, Format *format_out)
{
    int side[2] = {0, 0};
    const char *c = name;
    for (int i = 0; i < 2; i++) {
        const char *start = c;
        for (; *c >= '0' && *c <= '9' && c - start < 3; c++) side[i] = 10 * side[i] + (*c - '0');
        if (side[i] < 1 || side[i] > EXTENT_MOST || *c != (i == 0 ? 'x' : '\0')) return false;
        c++;
    }
    format_out->a = side[0];
    format_out->b = side[1];
    snprintf(format_out->name, sizeof format_out->name, "%s", name);
    return true;
}

int plan_facts_format(PlanFacts *e, const char *name)
{
    for (int i = 0; i < e->formats; i++)
        if (strcmp(e->format[i].name, name) == 0) return i;
    if (e->formats == FORMATS_MOST || !parse_format(name, &e->format[e->formats])) return -1;
    return e->formats++;
}

bool plan_facts_same(double printed, int places, double exact, double off)
{
    const double half = 0.5 * pow(10, -places);
    return fabs(printed - exact) <= (half + off) * (1 + 1e-6) + 1e-9 * fabs(exact);
}

int plan_facts_places(double number, int least)
{
    int places = least;
    for (; places < 9; places++) {
        const double scaled = number * pow(10, places);
        if (fabs(scaled - round(scaled)) <= 1e-12 * fabs(scaled) + 1e-12) break;
    }
    return places;
}

bool plan_facts_bad_field(PlanFacts *e, const CsvStream *stream, int field, const char *want)
{
    verdict_broken(e->verdict, PROMISE_FIELDS, "%s:%d: %s: '%.40s' is not %s", stream->name,
                   stream->line, stream->header[field], stream->field[field], want);
    return false;
}
