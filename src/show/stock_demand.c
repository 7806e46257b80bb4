/* Cells keep their costs, and count as often as their mural's priority and their care say, in
 * 1/TRANSPORT_WEIGHT_MOST of the most that any may. Colours that nobody may take have no column. A
 * cell to which all that is offered is barred is left free here: its plan says so. */
#include "show/stock_demand.h"

#include "base/bands.h"
#include "base/memory.h"
#include "cells/transport.h"
#include "plan/cell_rules.h"

#include <math.h>
#include <string.h>

typedef struct Demand {
    const DemandTask *task;
    const Voice *voice;
    Fault *fault;
    Palette palette;              /* the colours that are offered */
    uint8_t column[PALETTE_MOST]; /* of these, their places in the studio's */
    size_t count;                 /* cells that do not stand, mural by mural */
    uint16_t *cost, *weight;
    float *counts;   /* priority and care of each */
    uint8_t *colour; /* a column */
} Demand;

size_t stock_demand_cells(const DemandTask *task, int mural)
{
    return show_pictures_cells(task->pictures, mural) - task->standing[mural].shown;
}

/* ---- room ---- */

static Status check_shelf(const Demand *d)
{
    long units = 0;
    for (int c = 0; c < d->palette.count; c++) units += d->task->studio->units[d->column[c]];
    if (units >= (long)d->count) return STATUS_OK;
    return fault_set(d->fault, STATUS_DATA,
                     "%s: enough for %ld cells of the %zu of all murals; buy more, say stock-only "
                     "= no, or leave a mural out",
                     d->task->show->shared.stock, units, d->count);
}

/* What the problem takes while the largest mural's costs are worked out beside it. */
static Status check_memory(const Demand *d)
{
    size_t largest = 0;
    const double row = (double)d->palette.count * sizeof *d->cost;
    for (int m = 0; m < d->task->show->count; m++)
        if (show_pictures_cells(d->task->pictures, m) > largest)
            largest = show_pictures_cells(d->task->pictures, m);
    const double bytes = (double)d->count * (row + 7) + (double)largest * row +
                         transport_bytes(d->count, d->palette.count);
    if (bytes <= d->task->memory && d->count <= UINT32_MAX) return STATUS_OK;
    return fault_set(d->fault, STATUS_NO_RESOURCE,
                     "memory: sharing the shelf among %zu cells in %d colours takes %.0f MB, and "
                     "%.0f MB may be taken; raise memory, pick fewer colours, or make two shows",
                     d->count, d->palette.count, ceil(bytes / 1e6), floor(d->task->memory / 1e6));
}

static Status make_room(Demand *d)
{
    const size_t row = (size_t)d->palette.count * sizeof *d->cost;
    for (int m = 0; m < d->task->show->count; m++) d->count += stock_demand_cells(d->task, m);
    Status status = check_shelf(d);
    if (!status) status = check_memory(d);
    if (status) return status;
    d->cost = memory_create(d->count, row);
    d->weight = memory_create(d->count, sizeof *d->weight);
    d->counts = memory_create(d->count, sizeof *d->counts);
    d->colour = memory_create(d->count, 1);
    if (d->cost && d->weight && d->counts && d->colour) return STATUS_OK;
    return memory_fault(d->fault, d->count, row);
}

/* ---- costs ---- */

static bool allows(const Demand *d, const CellRules *rules, const Grid *own, size_t cell, int c)
{
    if (own->colour) return own->colour[cell] == d->column[c];
    return !rules || cell_rules_allow(rules, cell, d->column[c]);
}

static void fill_row(const Demand *d, const CellRules *rules, int mural, size_t cell, uint16_t *row)
{
    const Grid *own = &d->task->pictures->own[mural];
    bool any = false;
    for (int c = 0; c < d->palette.count; c++) any |= allows(d, rules, own, cell, c);
    for (int c = 0; any && c < d->palette.count; c++)
        if (!allows(d, rules, own, cell, c)) row[c] = TRANSPORT_NEVER;
}

/* Those of the mural's cells that do not stand; returns how many. */
static size_t fill_mural(const Demand *d, int mural, const CellRules *rules, const uint16_t *all,
                         size_t to)
{
    const size_t colours = (size_t)d->palette.count,
                 cells = show_pictures_cells(d->task->pictures, mural);
    const bool *stands = d->task->standing[mural].cell;
    const double priority = d->task->show->mural[mural].priority;
    const size_t from = to;
    for (size_t cell = 0; cell < cells; cell++) {
        if (stands && stands[cell]) continue;
        const double care = rules && rules->care ? (double)rules->care[cell] : 1;
        uint16_t *row = d->cost + to * colours;
        memcpy(row, all + cell * colours, colours * sizeof *row);
        fill_row(d, rules, mural, cell, row);
        d->counts[to++] = (float)(priority * care);
    }
    return to - from;
}

static Status gather_mural(Demand *d, int mural, size_t *to)
{
    const DemandTask *t = d->task;
    const Brief brief = brief_of(&t->show->mural[mural].job, NULL, NULL);
    const Palette *palette = &t->studio->palette;
    const SampledPicture *picture = &t->pictures->picture[mural];
    const RuleInput input = {palette, palette, &picture->frame, NULL};
    const bool wanted = cell_rules_wanted(brief.job);
    CellRules rules = {0};
    uint16_t *all = NULL;
    Status status =
        wanted ? cell_rules_read(&rules, &brief, &input, &picture->image, d->fault) : STATUS_OK;
    if (!status)
        status =
            transport_costs(&picture->image, &d->palette, t->threads, d->voice, &all, d->fault);
    if (!status) *to += fill_mural(d, mural, wanted ? &rules : NULL, all, *to);
    memory_free(all);
    cell_rules_clear(&rules);
    return status;
}

static Status gather(Demand *d)
{
    const int murals = d->task->show->count;
    size_t to = 0;
    double most = 0;
    Status status = STATUS_OK;
    for (int m = 0; m < murals && !status; m++) {
        voice_progress(d->voice, "shelf", (double)m / murals);
        status = gather_mural(d, m, &to);
    }
    for (size_t i = 0; i < to; i++) most = fmax(most, (double)d->counts[i]);
    for (size_t i = 0; i < to; i++) {
        const double part = (double)d->counts[i] / most;
        d->weight[i] = (uint16_t)fmax(1, round(part * TRANSPORT_WEIGHT_MOST));
    }
    return status;
}

/* ---- the whole ---- */

static Status solve(Demand *d, long *demand)
{
    long limit[PALETTE_MOST];
    for (int c = 0; c < d->palette.count; c++) limit[c] = d->task->studio->units[d->column[c]];
    const Transport problem = {d->count, d->palette.count, d->cost, limit, d->weight};
    const Status status = transport_solve(&problem, d->colour, NULL, d->voice, d->fault);
    const uint8_t *from = d->colour;
    for (int m = 0; m < d->task->show->count && !status; m++)
        for (size_t n = stock_demand_cells(d->task, m); n > 0; n--)
            demand[(size_t)m * PALETTE_MOST + d->column[*from++]]++;
    return status;
}

Status stock_demand(const DemandTask *task, long *demand, const Voice *voice, Fault *fault)
{
    DemandTask asked = *task;
    Demand *d = memory_create(1, sizeof *d);
    if (!d) return memory_fault(fault, 1, sizeof *d);
    if (!asked.threads) asked.threads = bands_processors();
    *d = (Demand){.task = &asked, .voice = voice, .fault = fault};
    for (int c = 0; c < task->studio->palette.count; c++) {
        if (!task->offered[c]) continue;
        d->column[d->palette.count] = (uint8_t)c;
        d->palette.colour[d->palette.count++] = task->studio->palette.colour[c];
    }
    memset(demand, 0, (size_t)task->show->count * PALETTE_MOST * sizeof *demand);
    Status status = make_room(d);
    if (!status) status = gather(d);
    if (!status) status = solve(d, demand);
    memory_free(d->colour);
    memory_free(d->counts);
    memory_free(d->weight);
    memory_free(d->cost);
    memory_free(d);
    return status;
}
