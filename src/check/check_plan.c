/* plan.json is looked at for what the other checks stand on: keys that are there and of their kind,
 * numbers within range, colours whose hex is their Lab. What is missing or wrong is said once,
 * here; the flags that PlanFacts gets tell the others what they can rely on. Measures are compared
 * last, when the other files have given theirs. */
#include "check/check_plan.h"

#include "base/csv_stream.h"
#include "base/file_format.h"
#include "base/folder.h"
#include "base/memory.h"
#include "check/check_core.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Ranges within which any mural lies; what is outside is a slip. */
#define SIDE_LEAST_MM 1e-3
#define SIDE_MOST_MM 1e6 /* of one unit */
#define PIXELS_MOST 1e9  /* of the reference, along one side */
#define MEASURE_MOST 1e12

/* How far a byte of a hex may be from its Lab: half of it is rounding, the rest matrices of as many
 * digits as their sources print. */
#define HEX_OFF_MOST 1.5

typedef enum Kind { KIND_WHOLE, KIND_NUMBER, KIND_TEXT, KIND_ARRAY, KIND_OBJECT } Kind;

static const char *const kind_text[] = {
    [KIND_WHOLE] = "a whole number", [KIND_NUMBER] = "a number",  [KIND_TEXT] = "a text",
    [KIND_ARRAY] = "a list",         [KIND_OBJECT] = "an object",
};

static bool is_kind(const json_t *value, Kind kind)
{
    switch (kind) {
    case KIND_WHOLE:
        return json_is_integer(value);
    case KIND_NUMBER:
        return json_is_number(value);
    case KIND_TEXT:
        return json_is_string(value);
    case KIND_ARRAY:
        return json_is_array(value);
    case KIND_OBJECT:
        return json_is_object(value);
    }
    return false;
}

/* The member, or NULL with a line that says why. `where` is "" or ends in a point. */
static json_t *member_of_kind(PlanFacts *e, const json_t *object, const char *where,
                              const char *key, Kind kind)
{
    json_t *value = json_object_get(object, key);
    if (value && is_kind(value, kind)) return value;
    verdict_broken(e->verdict, PROMISE_KEYS,
                   value ? "plan.json: %s%s: not %s" : "plan.json: %s%s: missing, must be %s",
                   where, key, kind_text[kind]);
    return NULL;
}

/* What a number must be. */
typedef struct Due {
    const char *key;
    Kind kind;
    double least, most;
} Due;

static bool number_in(PlanFacts *e, const json_t *object, const char *where, const Due *due,
                      double *value_out)
{
    const json_t *value = member_of_kind(e, object, where, due->key, due->kind);
    if (!value) return false;
    *value_out = json_number_value(value);
    if (*value_out >= due->least && *value_out <= due->most) return true;
    verdict_broken(e->verdict, PROMISE_KEYS, "plan.json: %s%s: %.10g is not within %.10g to %.10g",
                   where, due->key, *value_out, due->least, due->most);
    return false;
}

static bool whole_in(PlanFacts *e, const char *key, int least, int most, int *value_out)
{
    double value;
    if (!number_in(e, e->plan, "", &(Due){key, KIND_WHOLE, least, most}, &value)) return false;
    *value_out = (int)value;
    return true;
}

static bool is_hex(const char *text, size_t digits)
{
    return strlen(text) == digits && strspn(text, "0123456789abcdef") == digits;
}

static void check_reference(PlanFacts *e)
{
    const json_t *reference = member_of_kind(e, e->plan, "", "reference", KIND_OBJECT);
    if (!reference) return;
    static const char where[] = "reference.";
    double ignored;
    member_of_kind(e, reference, where, "file", KIND_TEXT);
    member_of_kind(e, reference, where, "profile", KIND_TEXT);
    number_in(e, reference, where, &(Due){"width", KIND_WHOLE, 1, PIXELS_MOST}, &ignored);
    number_in(e, reference, where, &(Due){"height", KIND_WHOLE, 1, PIXELS_MOST}, &ignored);
    const json_t *digest = member_of_kind(e, reference, where, "sha256", KIND_TEXT);
    if (digest && !is_hex(json_string_value(digest), 64))
        verdict_broken(e->verdict, PROMISE_KEYS,
                       "plan.json: reference.sha256: not 64 lower-case hex digits");
}

static bool number_at(const json_t *list, size_t i, double least, double most, double *value_out)
{
    const json_t *value = json_array_get(list, i);
    if (!json_is_number(value)) return false;
    *value_out = json_number_value(value);
    return *value_out >= least && *value_out <= most;
}

static bool check_cell_mm(PlanFacts *e)
{
    const json_t *list = member_of_kind(e, e->plan, "", "cell_mm", KIND_ARRAY);
    if (!list) return false;
    if (json_array_size(list) == 2 &&
        number_at(list, 0, SIDE_LEAST_MM, SIDE_MOST_MM, &e->cell_mm[0]) &&
        number_at(list, 1, SIDE_LEAST_MM, SIDE_MOST_MM, &e->cell_mm[1]))
        return true;
    verdict_broken(e->verdict, PROMISE_KEYS, "plan.json: cell_mm: not [width, height] above 0");
    return false;
}

/* CIE 15 Lab to XYZ on D50; the ICC connection space's white. The matrix is that of the
 * sRGB primaries adapted to D50 by Bradford, inverted; the curve is IEC 61966-2-1. */
static void hex_of_lab(const double lab[3], double rgb_out[3])
{
    static const double white[3] = {0.9642, 1, 0.8249};
    static const double matrix[3][3] = {{3.1338561, -1.6168667, -0.4906146},
                                        {-0.9787684, 1.9161415, 0.0334540},
                                        {0.0719453, -0.2289914, 1.4052427}};
    const double fy = (lab[0] + 16) / 116;
    const double f[3] = {fy + lab[1] / 500, fy, fy - lab[2] / 200};
    double xyz[3];
    for (int i = 0; i < 3; i++)
        xyz[i] = white[i] * (f[i] > 6.0 / 29 ? f[i] * f[i] * f[i]
                                             : 3 * (6.0 / 29) * (6.0 / 29) * (f[i] - 4.0 / 29));
    for (int i = 0; i < 3; i++) {
        double v = matrix[i][0] * xyz[0] + matrix[i][1] * xyz[1] + matrix[i][2] * xyz[2];
        v = v < 0 ? 0 : v > 1 ? 1 : v;
        rgb_out[i] = 255 * (v <= 0.0031308 ? 12.92 * v : 1.055 * pow(v, 1 / 2.4) - 0.055);
    }
}

/* Bytes of UTF-8 that start a character. */
static int characters(const char *text)
{
    int n = 0;
    for (; *text; text++) n += ((unsigned char)*text & 0xc0) != 0x80;
    return n;
}

static bool check_hex(PlanFacts *e, const char *where, const json_t *colour, Shade *shade)
{
    const json_t *list = member_of_kind(e, colour, where, "lab", KIND_ARRAY);
    const json_t *hex = member_of_kind(e, colour, where, "hex", KIND_TEXT);
    double lab[3], rgb[3];
    if (!list || !hex) return false;
    const char *text = json_string_value(hex);
    if (text[0] != '#' || strlen(text) != 7 || strspn(text + 1, "0123456789abcdefABCDEF") != 6) {
        verdict_broken(e->verdict, PROMISE_KEYS, "plan.json: %shex: not #rrggbb", where);
        return false;
    }
    const unsigned long value = strtoul(text + 1, NULL, 16);
    for (int i = 0; i < 3; i++) shade->rgb[i] = (uint8_t)(value >> (16 - 8 * i) & 255);
    if (json_array_size(list) != 3 || !number_at(list, 0, 0, 100, &lab[0]) ||
        !number_at(list, 1, -200, 200, &lab[1]) || !number_at(list, 2, -200, 200, &lab[2])) {
        verdict_broken(e->verdict, PROMISE_KEYS, "plan.json: %slab: not [L, a, b]", where);
        return true;
    }
    hex_of_lab(lab, rgb);
    for (int i = 0; i < 3; i++)
        if (fabs(rgb[i] - shade->rgb[i]) > HEX_OFF_MOST) {
            verdict_broken(e->verdict, PROMISE_COLOURS,
                           "plan.json: %shex: %s, but its lab is #%02x%02x%02x in sRGB", where,
                           text, (unsigned)lround(rgb[0]), (unsigned)lround(rgb[1]),
                           (unsigned)lround(rgb[2]));
            break;
        }
    return true;
}

static bool check_colour(PlanFacts *e, int index, const json_t *colour)
{
    char where[32];
    snprintf(where, sizeof where, "colours[%d].", index);
    Shade *shade = &e->shade[index];
    const json_t *id = member_of_kind(e, colour, where, "id", KIND_TEXT);
    const json_t *name = member_of_kind(e, colour, where, "name", KIND_TEXT);
    const bool coloured = check_hex(e, where, colour, shade);
    if (!id || !name || !coloured) return false;
    shade->id = json_string_value(id);
    shade->name = json_string_value(name);
    const int n = characters(shade->id);
    if (n < 1 || n > 4)
        verdict_broken(e->verdict, PROMISE_KEYS, "plan.json: %sid: '%s' is not 1 to 4 characters",
                       where, shade->id);
    const long twin = name_table_enter(&e->shade_index, shade->id, (uint32_t)index);
    if (twin >= 0)
        verdict_broken(e->verdict, PROMISE_KEYS,
                       "plan.json: %sid: '%s' is that of colours[%ld] too", where, shade->id, twin);
    return true;
}

static Status check_colours(PlanFacts *e, Fault *fault)
{
    const json_t *list = member_of_kind(e, e->plan, "", "colours", KIND_ARRAY);
    if (!list) return STATUS_OK;
    const size_t count = json_array_size(list);
    if (count < 1 || count > SHADES_MOST) {
        verdict_broken(e->verdict, PROMISE_KEYS, "plan.json: colours: %zu, must be 1 to %d", count,
                       SHADES_MOST);
        return STATUS_OK;
    }
    const Status status = name_table_init(&e->shade_index, count, fault);
    if (status) return status;
    bool whole = true;
    for (size_t i = 0; i < count; i++)
        if (!check_colour(e, (int)i, json_array_get(list, i))) whole = false;
    if (whole) e->shades = (int)count;
    return STATUS_OK;
}

static void check_measure_keys(PlanFacts *e)
{
    const json_t *measures = member_of_kind(e, e->plan, "", "measures", KIND_OBJECT);
    if (!measures) return;
    static const Due due[] = {
        {"cells", KIND_WHOLE, 1, MEASURE_MOST},
        {"bricks", KIND_WHOLE, 1, MEASURE_MOST},
        {"mean_de00", KIND_NUMBER, 0, MEASURE_MOST},
        {"p95_de00", KIND_NUMBER, 0, MEASURE_MOST},
        {"max_de00", KIND_NUMBER, 0, MEASURE_MOST},
        {"perceived_de00", KIND_NUMBER, 0, MEASURE_MOST},
        {"mass_kg", KIND_NUMBER, 0, MEASURE_MOST},
        {"price", KIND_NUMBER, 0, MEASURE_MOST},
        {"hours", KIND_NUMBER, 0, MEASURE_MOST},
        {"longest_straight_joint", KIND_WHOLE, 0, MEASURE_MOST},
        {"pieces", KIND_WHOLE, 1, MEASURE_MOST},
        {"unsupported", KIND_WHOLE, 0, MEASURE_MOST},
        {"unrest_1", KIND_NUMBER, 0, MEASURE_MOST},
        {"unrest_2", KIND_NUMBER, 0, MEASURE_MOST},
        {"unrest_3", KIND_NUMBER, 0, MEASURE_MOST},
        {"unrest_4", KIND_NUMBER, 0, MEASURE_MOST},
    };
    double ignored;
    for (size_t i = 0; i < sizeof due / sizeof *due; i++)
        number_in(e, measures, "measures.", &due[i], &ignored);
    const json_t *mean = json_object_get(measures, "mean_de00");
    const json_t *p95 = json_object_get(measures, "p95_de00");
    const json_t *most = json_object_get(measures, "max_de00");
    for (int i = 0; i < 2; i++)
        if (json_number_value(i ? p95 : mean) > json_number_value(most) + 1e-6)
            verdict_broken(e->verdict, PROMISE_MEASURES, "plan.json: measures.%s: above max_de00",
                           i ? "p95_de00" : "mean_de00");
}

static void check_cautions(PlanFacts *e)
{
    const json_t *list = member_of_kind(e, e->plan, "", "cautions", KIND_ARRAY);
    for (size_t i = 0; i < json_array_size(list); i++)
        if (!json_is_string(json_array_get(list, i)))
            verdict_broken(e->verdict, PROMISE_KEYS, "plan.json: cautions[%zu]: not a text", i);
}

static bool check_build(PlanFacts *e)
{
    const json_t *build = member_of_kind(e, e->plan, "", "build", KIND_TEXT);
    if (!build) return false;
    e->wall = strcmp(json_string_value(build), "wall") == 0;
    if (e->wall || strcmp(json_string_value(build), "plaque") == 0) return true;
    verdict_broken(e->verdict, PROMISE_KEYS, "plan.json: build: '%s' is neither plaque nor wall",
                   json_string_value(build));
    return false;
}

/* Plans that do not say it have bare bricks. */
static void check_mounting(PlanFacts *e)
{
    Behind *b = &e->behind;
    const struct {
        const char *name;
        double *value;
    } part[] = {{"sheet_kg_m2", &b->sheet_kg_m2}, {"sheet_mm", &b->sheet_mm},
                {"board_kg_m2", &b->board_kg_m2}, {"board_mm", &b->board_mm},
                {"frame_kg_m", &b->frame_kg_m},   {"frame_mm", &b->frame_mm},
                {"fixings_kg", &b->fixings_kg}};
    if (!json_object_get(e->plan, "mounting")) return;
    const json_t *mounting = member_of_kind(e, e->plan, "", "mounting", KIND_OBJECT);
    for (size_t i = 0; mounting && i < sizeof part / sizeof *part; i++)
        number_in(e, mounting, "mounting.", &(Due){part[i].name, KIND_NUMBER, 0, MEASURE_MOST},
                  part[i].value);
}

static void check_format(PlanFacts *e)
{
    const json_t *format = member_of_kind(e, e->plan, "", "format", KIND_TEXT);
    if (format && strcmp(json_string_value(format), file_formats[FORMAT_PLAN].name) != 0)
        verdict_broken(e->verdict, PROMISE_KEYS, "plan.json: format: '%s' is not %s",
                       json_string_value(format), file_formats[FORMAT_PLAN].name);
    if (json_integer_value(json_object_get(e->plan, "version")) < 1)
        verdict_broken(e->verdict, PROMISE_KEYS,
                       "plan.json: version: missing, must be a number from 1");
}

static void check_frame(PlanFacts *e)
{
    const bool built = check_build(e);
    const bool across = whole_in(e, "columns", 1, SIDE_MOST, &e->columns);
    const bool up = whole_in(e, "rows", 1, SIDE_MOST, &e->rows);
    bool based = whole_in(e, "base", 1, 255, &e->base);
    const bool measured = check_cell_mm(e);
    const bool stepped = number_in(
        e, e->plan, "", &(Due){"step_mm", KIND_NUMBER, SIDE_LEAST_MM, SIDE_MOST_MM}, &e->step_mm);
    if (built && based && !e->wall && e->base != 1) {
        verdict_broken(e->verdict, PROMISE_KEYS, "plan.json: base: %d, must be 1 for a plaque",
                       e->base);
        based = false;
    }
    e->framed = built && across && up && based && measured && stepped;
}

Status check_plan(PlanFacts *e, Fault *fault)
{
    char *bytes;
    size_t length;
    Status status = folder_read(e->folder, "plan.json", &bytes, &length, fault);
    if (status) return status;
    json_error_t error;
    status = json_parse(&e->plan, bytes, length, JSON_REJECT_DUPLICATES, &error, fault);
    memory_free(bytes);
    if (status) return status;
    if (!json_is_object(e->plan)) {
        return fault_set(fault, STATUS_DATA,
                         "%s/plan.json:%d:%d: not a JSON object (%s); plan the mural anew",
                         e->folder, e->plan ? 1 : error.line, e->plan ? 1 : error.column,
                         e->plan ? "another kind of value" : error.text);
    }
    if (file_format_fit(FORMAT_PLAN, e->plan) == FORMAT_NEWER) {
        char where[FOLDER_PATH];
        snprintf(where, sizeof where, "%.400s/plan.json", e->folder);
        return file_format_fault(FORMAT_PLAN, e->plan, where, fault);
    }
    check_format(e);
    check_frame(e);
    check_reference(e);
    member_of_kind(e, e->plan, "", "settings", KIND_OBJECT);
    status = check_colours(e, fault);
    check_measure_keys(e);
    check_mounting(e);
    member_of_kind(e, e->plan, "", "panels", KIND_ARRAY);
    member_of_kind(e, e->plan, "", "files", KIND_OBJECT);
    check_cautions(e);
    e->relief = json_object_get(json_object_get(e->plan, "files"), "steps.png") != NULL;
    check_core_keys(e);
    return status;
}

static void compare_measure(PlanFacts *e, const char *key, double found, double off, int places)
{
    const json_t *value = json_object_get(json_object_get(e->plan, "measures"), key);
    if (!json_is_number(value) || isnan(found)) return;
    const double said = json_number_value(value);
    if (places == 0 ? said == found
                    : plan_facts_same(said, plan_facts_places(said, places), found, off))
        return;
    verdict_broken(e->verdict, PROMISE_MEASURES,
                   "plan.json: measures.%s: %.10g, but the files give %.10g", key, said, found);
}

/* The mural's share of joints that lap lies between its panels'. */
static void compare_lap(PlanFacts *e, const Found *found)
{
    const json_t *value = json_object_get(json_object_get(e->plan, "measures"), "quarter_lap");
    const double said = json_number_value(value), off = 0.5 * pow(10, -plan_facts_places(said, 2));
    if (!json_is_number(value) || isnan(found->least_lap)) return;
    if (said >= found->least_lap - off && said <= found->most_lap + off) return;
    verdict_broken(e->verdict, PROMISE_MEASURES,
                   "plan.json: measures.quarter_lap: %.10g, but the panels have %.10g to %.10g",
                   said, found->least_lap, found->most_lap);
}

/* Bricks an hour, as a number or as text; NAN where it is not there. */
static double pace(const PlanFacts *e)
{
    const json_t *value = json_object_get(json_object_get(e->plan, "settings"), "pace");
    double number = json_number_value(value);
    int places;
    if (json_is_string(value) && !field_decimal(json_string_value(value), &number, &places))
        number = 0;
    return number > 0 ? number : (double)NAN;
}

void check_measures(PlanFacts *e, const Found *found)
{
    const double each_hour = pace(e);
    if (isnan(each_hour) && json_is_object(json_object_get(e->plan, "settings")))
        verdict_broken(e->verdict, PROMISE_KEYS,
                       "plan.json: settings.pace: missing, must be bricks an hour");
    compare_measure(e, "cells", e->framed ? (double)e->columns * e->rows : (double)NAN, 0, 0);
    compare_measure(e, "bricks", found->bricks, 0, 0);
    compare_measure(e, "mass_kg", found->mass_kg, found->mass_off, 2);
    compare_measure(e, "price", found->price, found->price_off, 1);
    compare_measure(e, "hours", (found->bricks - found->standing) / each_hour, 0, 1);
    compare_measure(e, "longest_straight_joint", found->longest_straight_joint, 0, 0);
    compare_measure(e, "pieces", found->pieces, 0, 0);
    compare_measure(e, "unsupported", found->unsupported, 0, 0);
    compare_measure(e, "weak", found->weak, 0, 0);
    compare_lap(e, found);
}
