/* A picture of care is of any size and goes through the frame of the reference. Pins are cells
 * themselves.
 *
 * Invariant: a cell that keeps its colour is in no region, so that what is barred is never found
 * where nothing can change. */
#include "plan/cell_rules.h"

#include "base/memory.h"
#include "base/text.h"
#include "cells/transport.h"
#include "relief/grey_map.h"

#include <math.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

/* Rules under way. */
typedef struct Ruling {
    CellRules *rules;
    const Brief *brief;
    const Palette *palette, *offered;
    const DepthFrame *frame;
    Fault *fault;
} Ruling;

bool cell_rules_wanted(const Job *job)
{
    return region_cells_wanted(job) || (!*job->cells && (*job->care || *job->pins));
}

/* ---- pins ---- */

static Status bad_pin(const Ruling *k, size_t cell, const char *what, const char *mend)
{
    const size_t columns = (size_t)k->frame->columns;
    return fault_set(k->fault, STATUS_DATA, "%s: column %zu, row %zu: colour %s %s; %s",
                     text_place(k->brief->job->pins), cell % columns + 1, cell / columns + 1,
                     k->palette->colour[k->rules->pin[cell]].id, what, mend);
}

/* Cells that stand are what they are; their pins count for nothing. */
static Status settle_pins(const Ruling *k)
{
    CellRules *r = k->rules;
    long others = 0;
    const EarlierPlan *earlier = brief_earlier(k->brief);
    for (size_t i = 0; i < r->cells; i++) {
        const int pin = r->pin[i];
        if (brief_stands(k->brief, i)) {
            const char *id = earlier->palette.colour[earlier->grid.colour[i]].id;
            others += pin != PIN_NONE && strcmp(id, k->palette->colour[pin].id) != 0;
            r->pin[i] = PIN_NONE;
        } else if (pin != PIN_NONE && pin >= k->offered->count) {
            return bad_pin(k, i, "is in what stands alone and to be had no more",
                           "paint another there");
        } else if (pin != PIN_NONE) {
            r->pinned[pin]++;
        }
        r->kept[i] = brief_stands(k->brief, i) || r->pin[i] != PIN_NONE;
    }
    if (others)
        voice_note(k->brief->voice, "%s: %ld cells stand already in another colour, and keep it",
                   text_place(k->brief->job->pins), others);
    return STATUS_OK;
}

static Status read_pins(const Ruling *k)
{
    CellRules *r = k->rules;
    Grid pins = {0};
    if (!*k->brief->job->pins) return STATUS_OK;
    r->kept = memory_create(r->cells, sizeof *r->kept);
    if (!r->kept) return memory_fault(k->fault, r->cells, sizeof *r->kept);
    const Status status = pins_png_read(&pins, k->brief->job->pins, k->palette, k->frame->columns,
                                        k->frame->rows, k->fault);
    r->pin = pins.colour; /* is freed with the rules */
    return status ? status : settle_pins(k);
}

/* ---- regions ---- */

/* The regions as they are; cells leave them yet. */
static Status take_regions(const Ruling *k, const RegionCells *regions)
{
    CellRules *r = k->rules;
    region_list_init(&r->regions);
    if (!regions) return STATUS_OK;
    r->regions = regions->list;
    r->label = memory_create(r->cells, 1);
    if (!r->label) return memory_fault(k->fault, r->cells, 1);
    memcpy(r->label, regions->label, r->cells);
    return STATUS_OK;
}

/* What must not be is looked at before cells that keep their colour leave their regions. */
static Status settle_labels(const Ruling *k)
{
    CellRules *r = k->rules;
    long cells[REGIONS_MOST] = {0};
    for (size_t i = 0; i < r->cells; i++) {
        const int region = r->label[i], pin = r->pin ? r->pin[i] : PIN_NONE;
        cells[region]++;
        if (pin != PIN_NONE && r->regions.barred[region].colour[pin]) {
            char what[80];
            snprintf(what, sizeof what, "is not allowed in region %s",
                     r->regions.region[region].name);
            return bad_pin(k, i, what, "paint another there, or leave it free");
        }
        if (pin != PIN_NONE || brief_stands(k->brief, i)) r->label[i] = REGION_NONE;
    }
    for (int i = REGION_NONE + 1; i < r->regions.count; i++)
        if (!cells[i])
            voice_note(k->brief->voice, "%s: region %s has no cell of what the mural shows",
                       text_place(k->brief->job->regions), r->regions.region[i].name);
    return STATUS_OK;
}

/* ---- weights ---- */

static Status read_care(const Ruling *k)
{
    const Job *job = k->brief->job;
    CellRules *r = k->rules;
    const GreyMap map = {.path = job->care,
                         .frame = k->frame,
                         .limit_pixels = job->limit * 1e6,
                         .limit_bytes = job_memory(job),
                         .threads = k->brief->threads,
                         .voice = k->brief->voice};
    if (!*job->care) return STATUS_OK;
    const Status status = grey_map_read(&map, &r->care, k->fault);
    for (size_t i = 0; !status && i < r->cells; i++)
        r->care[i] = (float)pow(CARE_MOST, 2.0 * (double)r->care[i] - 1.0);
    return status;
}

/* Times the factor of each cell's region; nothing is made where all of them are 1. */
static Status weigh_regions(const Ruling *k, size_t factor, float **weight)
{
    CellRules *r = k->rules;
    double of[REGIONS_MOST];
    bool any = false;
    for (int i = 0; i < r->regions.count; i++) {
        memcpy(&of[i], (const char *)&r->regions.region[i] + factor, sizeof *of);
        any |= of[i] != 1;
    }
    if (!r->label || !any) return STATUS_OK;
    const bool fresh = !*weight;
    if (fresh) *weight = memory_create(r->cells, sizeof **weight);
    if (!*weight) return memory_fault(k->fault, r->cells, sizeof **weight);
    for (size_t i = 0; i < r->cells; i++)
        (*weight)[i] = (float)of[r->label[i]] * (fresh ? 1.0f : (*weight)[i]);
    return STATUS_OK;
}

/* What disturbs is an error, too: care counts for calm as for all others. */
static Status put_care_on_calm(const Ruling *k)
{
    CellRules *r = k->rules;
    if (!r->care) return STATUS_OK;
    const bool fresh = !r->calm;
    if (fresh) r->calm = memory_create(r->cells, sizeof *r->calm);
    if (!r->calm) return memory_fault(k->fault, r->cells, sizeof *r->calm);
    for (size_t i = 0; i < r->cells; i++) r->calm[i] = r->care[i] * (fresh ? 1.0f : r->calm[i]);
    return STATUS_OK;
}

static void say_unused(const Ruling *k)
{
    const CellRules *r = k->rules;
    if (k->brief->job->dither == DITHER_DISTANCE) return;
    for (int i = REGION_NONE + 1; i < r->regions.count; i++) {
        const Region *region = &r->regions.region[i];
        if (region->care == 1 && region->calm == 1 && region->thrift == 1) continue;
        voice_note(k->brief->voice,
                   "%s: care, calm and thrift of regions count for nothing here, only with "
                   "--dither distance",
                   text_place(k->brief->job->regions));
        return;
    }
}

static Status weigh(const Ruling *k)
{
    CellRules *r = k->rules;
    Status status = weigh_regions(k, offsetof(Region, care), &r->care);
    if (!status) status = weigh_regions(k, offsetof(Region, calm), &r->calm);
    if (!status) status = weigh_regions(k, offsetof(Region, thrift), &r->thrift);
    if (!status) status = put_care_on_calm(k);
    if (!status) say_unused(k);
    return status;
}

/* ---- the whole ---- */

Status cell_rules_init(CellRules *rules, const Brief *brief, const RuleInput *input, Fault *fault)
{
    const DepthFrame *frame = input->frame;
    const Ruling k = {rules, brief, input->palette, input->offered, frame, fault};
    *rules = (CellRules){.cells = (size_t)frame->columns * (size_t)frame->rows};
    Status status = read_pins(&k);
    if (!status) status = take_regions(&k, input->regions);
    if (!status) status = read_care(&k);
    if (!status) status = weigh(&k);
    if (!status && rules->label) status = settle_labels(&k);
    return status ? status : cell_rules_check(rules, brief, input->offered, NULL, fault);
}

Status cell_rules_read(CellRules *rules, const Brief *brief, const RuleInput *input,
                       const Image *image, Fault *fault)
{
    const bool wanted = region_cells_wanted(brief->job);
    const RegionInput where = {input->palette, input->frame, image};
    RegionCells regions = {0};
    RuleInput all = *input;
    Status status = wanted ? region_cells_init(&regions, brief, &where, fault) : STATUS_OK;
    if (wanted) all.regions = &regions;
    *rules = (CellRules){0};
    if (!status) status = cell_rules_init(rules, brief, &all, fault);
    region_cells_clear(&regions);
    return status;
}

void cell_rules_clear(CellRules *rules)
{
    memory_free(rules->label);
    memory_free(rules->care);
    memory_free(rules->calm);
    memory_free(rules->thrift);
    memory_free(rules->pin);
    memory_free(rules->kept);
    *rules = (CellRules){0};
}

/* ---- what follows from them ---- */

Keep cell_rules_keep(const CellRules *rules, const Brief *brief, int offered)
{
    Keep keep = {.cell = brief->standing ? brief->standing->cell : NULL, .offered = offered};
    if (!rules) return keep;
    if (rules->kept) keep.cell = rules->kept;
    keep.region = rules->label;
    keep.barred = rules->regions.barred;
    keep.regions = rules->regions.count;
    return keep;
}

CellWeights cell_rules_weights(const CellRules *rules)
{
    return rules ? (CellWeights){rules->care, rules->calm, rules->thrift} : (CellWeights){0};
}

/* What may be asked of one cell; of none, where there are no rules. */
typedef struct Asked {
    int pin;
    float care, calm, thrift;
    const Barred *barred; /* NULL: nothing */
} Asked;

static Asked asked_of(const CellRules *r, size_t cell)
{
    Asked asked = {.pin = PIN_NONE, .care = 1, .calm = 1, .thrift = 1};
    if (!r) return asked;
    if (r->pin) asked.pin = r->pin[cell];
    if (r->care) asked.care = r->care[cell];
    if (r->calm) asked.calm = r->calm[cell];
    if (r->thrift) asked.thrift = r->thrift[cell];
    if (r->label) asked.barred = &r->regions.barred[r->label[cell]];
    return asked;
}

static bool bars_alike(const Barred *a, const Barred *b)
{
    static const Barred nothing;
    if (!a) a = &nothing;
    if (!b) b = &nothing;
    return a == b || !memcmp(a, b, sizeof *a);
}

void cell_rules_compare(const CellRules *rules, const CellRules *other, size_t cells,
                        bool *differs_out)
{
    for (size_t i = 0; i < cells; i++) {
        const Asked a = asked_of(rules, i), b = asked_of(other, i);
        differs_out[i] = a.pin != b.pin || a.care != b.care || a.calm != b.calm ||
                         a.thrift != b.thrift || !bars_alike(a.barred, b.barred);
    }
}

void cell_rules_pin(const CellRules *rules, Grid *grid)
{
    for (size_t i = 0; rules && rules->pin && i < rules->cells; i++)
        if (rules->pin[i] != PIN_NONE) grid->colour[i] = rules->pin[i];
}

bool cell_rules_allow(const CellRules *r, size_t cell, int colour)
{
    if (r->pin && r->pin[cell] != PIN_NONE) return r->pin[cell] == colour;
    return !(r->label && r->regions.barred[r->label[cell]].colour[colour]);
}

void cell_rules_cost(const CellRules *r, int colours, uint16_t *cost)
{
    double most = 0;
    if (!r) return;
    for (size_t i = 0; r->care && i < r->cells; i++) most = fmax(most, (double)r->care[i]);
    for (size_t i = 0; i < r->cells; i++)
        for (int c = 0; c < colours; c++, cost++) {
            if (!cell_rules_allow(r, i, c))
                *cost = TRANSPORT_NEVER;
            else if (r->care)
                *cost = (uint16_t)floor(*cost * ((double)r->care[i] / most) + 0.5);
        }
}

/* Cells that are left of a colour once its pins have theirs. */
static long room_of(const CellRules *r, const long *limit, int colour)
{
    return !limit || limit[colour] < 0 ? (long)r->cells : limit[colour] - r->pinned[colour];
}

static Status check_region(const CellRules *r, const Brief *brief, const Palette *offered,
                           const long *limit, Fault *fault)
{
    const char *path = text_place(brief->job->regions);
    long cells[REGIONS_MOST] = {0};
    for (size_t i = 0; i < r->cells; i++) cells[r->label[i]]++;
    for (int n = REGION_NONE + 1; n < r->regions.count; n++) {
        long room = 0;
        bool any = false;
        for (int c = 0; c < offered->count; c++) {
            if (r->regions.barred[n].colour[c]) continue;
            any = true;
            room += room_of(r, limit, c);
        }
        if (!any)
            return fault_set(
                fault, STATUS_DATA,
                "%s: region %s may take no colour at all; leave one out of its without", path,
                r->regions.region[n].name);
        if (room < cells[n])
            return fault_set(fault, STATUS_DATA,
                             "%s: region %s has %ld cells, the stock %ld units of the colours that "
                             "it may take; allow it more, or leave out --stock-only",
                             path, r->regions.region[n].name, cells[n], room);
    }
    return STATUS_OK;
}

Status cell_rules_check(const CellRules *r, const Brief *brief, const Palette *offered,
                        const long *limit, Fault *fault)
{
    for (int c = 0; r && c < offered->count; c++)
        if (room_of(r, limit, c) < 0)
            return fault_set(fault, STATUS_DATA,
                             "%s: colour %s is in %ld cells, the stock has %ld units; use less of "
                             "it, or leave out --stock-only",
                             text_place(brief->job->pins), offered->colour[c].id, r->pinned[c],
                             limit[c]);
    return r && r->label ? check_region(r, brief, offered, limit, fault) : STATUS_OK;
}
