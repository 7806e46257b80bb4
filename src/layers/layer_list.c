/* Layers are read as they come, then sorted by index and their names looked up: a layer may
 * stand on one that is told of further down. */
#include "layers/layer_list.h"

#include "base/csv.h"
#include "base/ini_file.h"
#include "base/text.h"
#include "model/grid.h"
#include "model/job.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Between 5 and 8 bodies read as bodies under raking light, tried on six pictures. */
#define ROUNDED_RISE 6.0
#define SLOPE_RISE 10.0
#define SOFT_BEVEL 3.0
#define RISE_MOST 100000.0
#define RISE_UNSAID (-1.0)

enum { INDEX_MOST = 254, KEYS = 8 };

/* A layer as its section tells of it. */
typedef struct Draft {
    Layer layer;
    char on[LAYER_NAME];
    int line;       /* of its first key */
    int seen[KEYS]; /* line of each key, 0: not yet */
} Draft;

typedef struct Reading {
    const char *path;
    double step_mm;
    int count;
    Draft draft[LAYERS_MOST]; /* the first is the ground */
} Reading;

/* ---- keys ---- */

/* What a key's value is about, for messages. */
typedef struct Value {
    const Reading *reading;
    const char *text, *where;
    Fault *fault;
} Value;

static Status wrong(const Value *v, const char *want)
{
    return fault_set(v->fault, STATUS_DATA, "%s: '%s' is not one; give %s", v->where, v->text,
                     want);
}

static Status take_index(Draft *d, const Value *v)
{
    double index;
    if (!number_parse(v->text, &index) || index != floor(index) || index <= LAYER_GROUND_INDEX ||
        index > INDEX_MOST)
        return wrong(v, "a whole number from 2 to 254; 1 is the ground");
    d->layer.index = (int)index;
    return STATUS_OK;
}

static Status take_height(Draft *d, const Value *v)
{
    double height, mm;
    if (length_parse(v->text, &mm))
        height = floor(mm / v->reading->step_mm + 0.5);
    else if (!number_parse(v->text, &height))
        height = -1;
    if (!(height >= 0 && height <= RELIEF_STEPS_MOST))
        return wrong(v, "0 to 120 steps, or a length with its unit");
    d->layer.height = height;
    return STATUS_OK;
}

static Status take_profile(Draft *d, const Value *v)
{
    static const char *const name[] = {"plateau", "slope", "rounded", "relief"};
    for (int i = 0; i < (int)(sizeof name / sizeof *name); i++)
        if (!strcmp(v->text, name[i])) {
            d->layer.profile = (LayerProfile)i;
            return STATUS_OK;
        }
    return wrong(v, "plateau, slope, rounded or relief");
}

static Status take_rise(Draft *d, const Value *v)
{
    d->layer.rise = INFINITY;
    if (!strcmp(v->text, "none")) return STATUS_OK;
    if (!number_parse(v->text, &d->layer.rise) ||
        !(d->layer.rise > 0 && d->layer.rise <= RISE_MOST))
        return wrong(v, "cells above 0, or none for a rise up to its middle");
    return STATUS_OK;
}

static Status take_edge(Draft *d, const Value *v)
{
    d->layer.soft = !strcmp(v->text, "soft");
    return d->layer.soft || !strcmp(v->text, "sharp") ? STATUS_OK : wrong(v, "sharp or soft");
}

static Status take_texture(Draft *d, const Value *v)
{
    if (!number_parse(v->text, &d->layer.texture) ||
        !(d->layer.texture >= 0 && d->layer.texture <= 1))
        return wrong(v, "0 to 1 step");
    return STATUS_OK;
}

static Status take_on(Draft *d, const Value *v)
{
    if (strlen(v->text) >= sizeof d->on) return wrong(v, "the name of a layer, or ground");
    strcpy(d->on, v->text);
    return STATUS_OK;
}

static const struct Key {
    const char *name;
    Status (*take)(Draft *draft, const Value *value);
} keys[] = {
    {"index", take_index}, {"height", take_height}, {"profile", take_profile},
    {"rise", take_rise},   {"edge", take_edge},     {"texture", take_texture},
    {"on", take_on},
};
static_assert(sizeof keys / sizeof *keys <= KEYS, "each key has a place in a draft");

/* ---- sections ---- */

static Status begin_layer(Reading *r, const char *name, const IniEntry *entry, Draft **draft_out,
                          Fault *fault)
{
    if (!*name || strlen(name) >= LAYER_NAME || text_check(name, strlen(name), "", NULL))
        return fault_set(fault, STATUS_DATA,
                         "%s:%d: a layer's name has 1 to %d bytes; give it another", entry->path,
                         entry->line, LAYER_NAME - 1);
    if (r->count == LAYERS_MOST)
        return fault_set(fault, STATUS_DATA, "%s:%d: more than %d layers; leave some out",
                         entry->path, entry->line, LAYERS_MOST - 1);
    Draft *d = &r->draft[r->count++];
    *d = (Draft){.line = entry->line, .on = "ground"};
    d->layer = (Layer){.profile = PROFILE_ROUNDED, .height = -1, .rise = RISE_UNSAID};
    strcpy(d->layer.name, name);
    *draft_out = d;
    return STATUS_OK;
}

static Status find_draft(Reading *r, const IniEntry *entry, Draft **draft_out, Fault *fault)
{
    static const char kind[] = "layer ";
    if (strncmp(entry->section, kind, sizeof kind - 1))
        return fault_set(fault, STATUS_DATA,
                         "%s:%d: %s stands in no section of a layer; write [layer NAME] above it",
                         entry->path, entry->line, entry->key);
    const char *name = entry->section + sizeof kind - 1;
    name += strspn(name, " \t");
    for (int i = 0; i < r->count; i++)
        if (!strcmp(r->draft[i].layer.name, name)) {
            *draft_out = &r->draft[i];
            if (i > LAYER_GROUND) return STATUS_OK;
            return fault_set(fault, STATUS_DATA,
                             "%s:%d: the ground is no layer of its own; give this one a name",
                             entry->path, entry->line);
        }
    return begin_layer(r, name, entry, draft_out, fault);
}

static Status take_entry(void *self, const IniEntry *entry, Fault *fault)
{
    Reading *r = self;
    Draft *draft = NULL;
    const Status status = find_draft(r, entry, &draft, fault);
    if (status) return status;
    char where[700];
    snprintf(where, sizeof where, "%s:%d: %s", entry->path, entry->line, entry->key);
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        if (strcmp(keys[i].name, entry->key)) continue;
        if (draft->seen[i])
            return fault_set(fault, STATUS_DATA, "%s: line %d says it already; keep one", where,
                             draft->seen[i]);
        draft->seen[i] = entry->line;
        return keys[i].take(draft, &(Value){r, entry->value, where, fault});
    }
    return fault_set(fault, STATUS_DATA,
                     "%s: no such key of a layer; give index, height, profile, rise, edge, texture "
                     "or on",
                     where);
}

/* ---- the list ---- */

static int by_index(const void *a, const void *b)
{
    return ((const Draft *)a)->layer.index - ((const Draft *)b)->layer.index;
}

static double usual_rise(const Layer *layer)
{
    if (layer->profile == PROFILE_ROUNDED) return ROUNDED_RISE;
    if (layer->profile == PROFILE_SLOPE) return SLOPE_RISE;
    return layer->soft ? SOFT_BEVEL : 0;
}

static Status check_draft(const Reading *r, int number, Fault *fault)
{
    const Draft *d = &r->draft[number];
    const Layer *layer = &d->layer;
    const char *missing = !layer->index ? "index" : layer->height < 0 ? "height" : NULL;
    if (missing)
        return fault_set(fault, STATUS_DATA, "%s:%d: layer %s has no %s; add it", r->path, d->line,
                         layer->name, missing);
    if (layer->index == r->draft[number - 1].layer.index)
        return fault_set(fault, STATUS_DATA,
                         "%s:%d: layers %s and %s both have index %d; give each its own", r->path,
                         d->line, r->draft[number - 1].layer.name, layer->name, layer->index);
    return STATUS_OK;
}

/* Finds what each layer stands on. */
static Status join_layers(Reading *r, Fault *fault)
{
    for (int i = LAYER_GROUND + 1; i < r->count; i++) {
        Draft *d = &r->draft[i];
        d->layer.on = -1;
        for (int k = 0; k < r->count; k++)
            if (!strcmp(r->draft[k].layer.name, d->on)) d->layer.on = k;
        if (d->layer.on < 0)
            return fault_set(fault, STATUS_DATA,
                             "%s:%d: layer %s stands on %s, which is no layer; check the name",
                             r->path, d->line, d->layer.name, d->on);
    }
    return STATUS_OK;
}

/* Whoever goes down more often than there are layers goes in circles. */
static Status check_circles(const Reading *r, Fault *fault)
{
    for (int i = LAYER_GROUND + 1; i < r->count; i++) {
        int at = i, below = 0;
        while (at != LAYER_GROUND && below++ < r->count) at = r->draft[at].layer.on;
        if (at != LAYER_GROUND)
            return fault_set(fault, STATUS_DATA,
                             "%s:%d: layer %s stands on itself, by way of %s; let one of them "
                             "stand on the ground",
                             r->path, r->draft[i].line, r->draft[i].layer.name, r->draft[i].on);
    }
    return STATUS_OK;
}

Status layer_list_read(LayerList *list, const char *path, double step_mm, Fault *fault)
{
    Reading r = {.path = text_place(path), .step_mm = step_mm, .count = 1};
    r.draft[LAYER_GROUND].layer = (Layer){.name = "ground", .index = LAYER_GROUND_INDEX};
    Status status = ini_file_read(path, take_entry, &r, fault);
    if (!status && r.count == 1)
        status = fault_set(fault, STATUS_DATA, "%s: holds no layer; write [layer NAME]", r.path);
    qsort(r.draft + 1, (size_t)r.count - 1, sizeof *r.draft, by_index);
    for (int i = LAYER_GROUND + 1; !status && i < r.count; i++) status = check_draft(&r, i, fault);
    if (!status) status = join_layers(&r, fault);
    if (!status) status = check_circles(&r, fault);
    list->count = r.count;
    for (int i = 0; i < r.count; i++) {
        list->layer[i] = r.draft[i].layer;
        if (list->layer[i].rise == RISE_UNSAID) list->layer[i].rise = usual_rise(&list->layer[i]);
    }
    return status;
}

int layer_label(const LayerList *list, int index)
{
    for (int i = 0; i < list->count; i++)
        if (list->layer[i].index == index) return i;
    return -1;
}

bool layer_carries(const LayerList *list, int layer, int label)
{
    while (label != layer && label != LAYER_GROUND) label = list->layer[label].on;
    return label == layer;
}
