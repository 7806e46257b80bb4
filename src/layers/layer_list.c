/* Layers are read as they come, then sorted by index and their names looked up: a layer may
 * stand on one that is told of further down. */
#include "layers/layer_list.h"

#include "base/csv.h"
#include "base/ini_sections.h"
#include "base/text.h"
#include "model/grid.h"
#include "model/job.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Between 5 and 8 bodies read as bodies under raking light, tried on six pictures. */
#define ROUNDED_RISE 6.0
#define SLOPE_RISE 10.0
#define SOFT_BEVEL 3.0
#define RISE_MOST 100000.0
#define RISE_UNSAID (-1.0)

enum { INDEX_MOST = 254 };

/* A layer as its section tells of it. */
typedef struct Draft {
    IniSection section;
    Layer layer;
    char on[LAYER_NAME];
} Draft;

typedef struct Reading {
    const char *path;
    int count;
    Draft draft[LAYERS_MOST]; /* the first is the ground */
} Reading;

/* ---- keys ---- */

static Status take_index(void *section, const IniValue *v)
{
    Draft *d = section;
    double index;
    if (!number_parse(v->text, &index) || index != floor(index) || index <= LAYER_GROUND_INDEX ||
        index > INDEX_MOST)
        return ini_value_wrong(v, "a whole number from 2 to 254; 1 is the ground");
    d->layer.index = (int)index;
    return STATUS_OK;
}

static Status take_height(void *section, const IniValue *v)
{
    Draft *d = section;
    double height, mm;
    if (length_parse(v->text, &mm))
        height = floor(mm / *(const double *)v->context + 0.5);
    else if (!number_parse(v->text, &height))
        height = -1;
    if (!(height >= 0 && height <= RELIEF_STEPS_MOST))
        return ini_value_wrong(v, "0 to 120 steps, or a length with its unit");
    d->layer.height = height;
    return STATUS_OK;
}

static Status take_profile(void *section, const IniValue *v)
{
    Draft *d = section;
    static const char *const name[] = {"plateau", "slope", "rounded", "relief"};
    for (int i = 0; i < (int)(sizeof name / sizeof *name); i++)
        if (!strcmp(v->text, name[i])) {
            d->layer.profile = (LayerProfile)i;
            return STATUS_OK;
        }
    return ini_value_wrong(v, "plateau, slope, rounded or relief");
}

static Status take_rise(void *section, const IniValue *v)
{
    Draft *d = section;
    d->layer.rise = INFINITY;
    if (!strcmp(v->text, "none")) return STATUS_OK;
    if (!number_parse(v->text, &d->layer.rise) ||
        !(d->layer.rise > 0 && d->layer.rise <= RISE_MOST))
        return ini_value_wrong(v, "cells above 0, or none for a rise up to its middle");
    return STATUS_OK;
}

static Status take_edge(void *section, const IniValue *v)
{
    Draft *d = section;
    d->layer.soft = !strcmp(v->text, "soft");
    return d->layer.soft || !strcmp(v->text, "sharp") ? STATUS_OK
                                                      : ini_value_wrong(v, "sharp or soft");
}

static Status take_texture(void *section, const IniValue *v)
{
    Draft *d = section;
    if (!number_parse(v->text, &d->layer.texture) ||
        !(d->layer.texture >= 0 && d->layer.texture <= 1))
        return ini_value_wrong(v, "0 to 1 step");
    return STATUS_OK;
}

static Status take_on(void *section, const IniValue *v)
{
    Draft *d = section;
    if (strlen(v->text) >= sizeof d->on)
        return ini_value_wrong(v, "the name of a layer, or ground");
    strcpy(d->on, v->text);
    return STATUS_OK;
}

static const IniKey keys[] = {
    {"index", take_index}, {"height", take_height}, {"profile", take_profile},
    {"rise", take_rise},   {"edge", take_edge},     {"texture", take_texture},
    {"on", take_on},
};
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
    if (!strcmp(layer->name, r->draft[LAYER_GROUND].layer.name))
        return fault_set(fault, STATUS_DATA,
                         "%s:%d: the ground is no layer of its own; give this one a name", r->path,
                         d->section.line);
    const char *missing = !layer->index ? "index" : layer->height < 0 ? "height" : NULL;
    if (missing)
        return fault_set(fault, STATUS_DATA, "%s:%d: layer %s has no %s; add it", r->path,
                         d->section.line, layer->name, missing);
    if (layer->index == r->draft[number - 1].layer.index)
        return fault_set(
            fault, STATUS_DATA, "%s:%d: layers %s and %s both have index %d; give each its own",
            r->path, d->section.line, r->draft[number - 1].layer.name, layer->name, layer->index);
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
                             r->path, d->section.line, d->layer.name, d->on);
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
                             r->path, r->draft[i].section.line, r->draft[i].layer.name,
                             r->draft[i].on);
    }
    return STATUS_OK;
}

Status layer_list_read(LayerList *list, const char *path, double step_mm, Fault *fault)
{
    static const Draft fresh = {
        .on = "ground", .layer = {.profile = PROFILE_ROUNDED, .height = -1, .rise = RISE_UNSAID}};
    const IniKind kind = {.name = "layer",
                          .key = keys,
                          .keys = sizeof keys / sizeof *keys,
                          .most = LAYERS_MOST - 1,
                          .size = sizeof(Draft),
                          .fresh = &fresh,
                          .context = &step_mm};
    Reading r = {.path = text_place(path)};
    r.draft[LAYER_GROUND].layer = (Layer){.name = "ground", .index = LAYER_GROUND_INDEX};
    Status status = ini_sections_read(&kind, path, r.draft + 1, &r.count, fault);
    r.count++;
    for (int i = LAYER_GROUND + 1; i < r.count; i++)
        strcpy(r.draft[i].layer.name, r.draft[i].section.name);
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
