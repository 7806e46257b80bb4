/* Regions are read as they come, then put by index. */
#include "model/region_list.h"

#include "base/csv.h"
#include "base/text.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A region as its section tells of it. */
typedef struct Draft {
    IniSection section;
    Region region;
    Barred barred;
} Draft;

/* ---- keys ---- */

static Status take_index(void *section, const IniValue *v)
{
    Draft *d = section;
    double index;
    if (!number_parse(v->text, &index) || index != floor(index) || index <= REGION_NONE ||
        index > REGION_INDEX_MOST)
        return ini_value_wrong(v, "a whole number from 1 to 254; 0 is what is in no region");
    d->region.index = (int)index;
    return STATUS_OK;
}

static Status take_care(void *section, const IniValue *v)
{
    Draft *d = section;
    if (number_parse(v->text, &d->region.care) && d->region.care >= CARE_LEAST &&
        d->region.care <= CARE_MOST)
        return STATUS_OK;
    return ini_value_wrong(v, "a factor from 0.1 to 10; 1 is as elsewhere");
}

static Status take_factor(double *factor, const IniValue *v)
{
    if (number_parse(v->text, factor) && *factor >= 0 && *factor <= REGION_FACTOR_MOST)
        return STATUS_OK;
    return ini_value_wrong(v, "a factor from 0 to 10; 1 is as elsewhere");
}

static Status take_calm(void *section, const IniValue *v)
{
    return take_factor(&((Draft *)section)->region.calm, v);
}

static Status take_thrift(void *section, const IniValue *v)
{
    return take_factor(&((Draft *)section)->region.thrift, v);
}

/* Ids with commas between, and blanks around them if need be. */
static Status take_without(void *section, const IniValue *v)
{
    Draft *d = section;
    const RegionWords *words = v->context;
    for (const char *item = v->text; *item;) {
        char id[64], clip[TEXT_CLIP];
        const size_t whole = strcspn(item, ",");
        size_t length = whole, blank = 0;
        while (blank < length && isspace((unsigned char)item[blank])) blank++;
        while (length > blank && isspace((unsigned char)item[length - 1])) length--;
        snprintf(id, sizeof id, "%.*s", (int)(length - blank < 60 ? length - blank : 60),
                 item + blank);
        const int colour = palette_find(words->palette, id);
        text_clip(clip, id);
        if (colour >= 0)
            d->barred.colour[colour] = true;
        else if (words->others)
            voice_note(words->voice, "%s: this palette has no colour '%s', so nothing takes it",
                       v->where, clip);
        else
            return fault_set(v->fault, STATUS_DATA,
                             "%s: the palette has no colour '%s'; give ids with commas between",
                             v->where, clip);
        item += whole + (item[whole] == ',');
    }
    return STATUS_OK;
}

static const IniKey keys[] = {
    {"index", take_index},   {"care", take_care},       {"calm", take_calm},
    {"thrift", take_thrift}, {"without", take_without},
};

/* ---- the list ---- */

static int by_index(const void *a, const void *b)
{
    return ((const Draft *)a)->region.index - ((const Draft *)b)->region.index;
}

static Status check_drafts(const Draft *draft, int count, const char *path, Fault *fault)
{
    for (int i = 0; i < count; i++) {
        const Draft *d = &draft[i], *before = &draft[i ? i - 1 : 0];
        if (!d->region.index)
            return fault_set(fault, STATUS_DATA, "%s:%d: region %s has no index; add it",
                             text_place(path), d->section.line, d->section.name);
        if (i && d->region.index == before->region.index)
            return fault_set(fault, STATUS_DATA,
                             "%s:%d: regions %s and %s both have index %d; give each its own",
                             text_place(path), d->section.line, before->section.name,
                             d->section.name, d->region.index);
    }
    return STATUS_OK;
}

void region_list_init(RegionList *list)
{
    *list = (RegionList){.count = 1, .region = {{.care = 1, .calm = 1, .thrift = 1}}};
}

Status region_list_read(RegionList *list, const char *path, const RegionWords *words, Fault *fault)
{
    static const Draft fresh = {.region = {.care = 1, .calm = 1, .thrift = 1}};
    Draft draft[REGIONS_MOST - 1];
    int count = 0;
    const IniKind kind = {.name = "region",
                          .key = keys,
                          .keys = sizeof keys / sizeof *keys,
                          .most = REGIONS_MOST - 1,
                          .size = sizeof(Draft),
                          .fresh = &fresh,
                          .context = words};
    region_list_init(list);
    Status status = ini_sections_read(&kind, path, draft, &count, fault);
    if (status) return status;
    qsort(draft, (size_t)count, sizeof *draft, by_index);
    status = check_drafts(draft, count, path, fault);
    for (int i = 0; i < count; i++, list->count++) {
        list->region[list->count] = draft[i].region;
        list->barred[list->count] = draft[i].barred;
        strcpy(list->region[list->count].name, draft[i].section.name);
    }
    return status;
}
