/* Costs are whole numbers of 16 bits (cells/transport.h); the dearest mural's are as they are, and
 * those of the others less by the ratio of priorities. */
#include "show/stock_demand.h"

#include "base/bands.h"
#include "base/memory.h"
#include "cells/transport.h"

#include <math.h>
#include <string.h>

typedef struct Demand {
    const Show *show;
    const Studio *studio;
    int threads;
    const Voice *voice;
    Fault *fault;
    const ShowPictures *pictures;
    const bool *offered; /* colours that may be taken */
    size_t apart;        /* every so many of all cells is looked at */
    size_t count;        /* that are looked at */
    uint16_t *cost;
    uint8_t *colour;
} Demand;

static size_t cells_of(const Demand *d, int mural)
{
    return show_pictures_cells(d->pictures, mural);
}

static size_t looked_at(const Demand *d, int mural)
{
    return (cells_of(d, mural) + d->apart - 1) / d->apart;
}

/* The mural's rows of costs: every apart-th of its own. */
static Status fill_costs(Demand *d, int mural, double factor, uint16_t *to)
{
    const size_t colours = (size_t)d->studio->palette.count;
    const Grid *own = &d->pictures->own[mural];
    uint16_t *all = NULL;
    const Status status = transport_costs(&d->pictures->picture[mural].image, &d->studio->palette,
                                          d->threads, d->voice, &all, d->fault);
    if (status) return status;
    for (size_t i = 0; i < looked_at(d, mural); i++)
        for (size_t c = 0; c < colours; c++) {
            const size_t cell = i * d->apart;
            const bool barred = own->colour && own->colour[cell] != c;
            to[i * colours + c] = barred
                                      ? TRANSPORT_NEVER
                                      : (uint16_t)lround(factor * (double)all[cell * colours + c]);
        }
    memory_free(all);
    return STATUS_OK;
}

static Status gather_costs(Demand *d)
{
    const size_t colours = (size_t)d->studio->palette.count;
    double most = 0;
    for (int i = 0; i < d->show->count; i++) most = fmax(most, d->show->mural[i].priority);
    d->apart = d->pictures->cells / DEMAND_CELLS_MOST + 1;
    for (int i = 0; i < d->show->count; i++) d->count += looked_at(d, i);
    d->cost = memory_create(d->count, colours * sizeof *d->cost);
    d->colour = memory_create(d->count, 1);
    if (!d->cost || !d->colour) return memory_fault(d->fault, d->count, colours * sizeof *d->cost);
    Status status = STATUS_OK;
    uint16_t *to = d->cost;
    for (int i = 0; i < d->show->count && !status; i++) {
        voice_progress(d->voice, "shelf", (double)i / d->show->count);
        status = fill_costs(d, i, d->show->mural[i].priority / most, to);
        to += looked_at(d, i) * colours;
    }
    return status;
}

static Status check_room(const Demand *d)
{
    long units = 0;
    for (int c = 0; c < d->studio->palette.count; c++)
        if (d->offered[c]) units += d->studio->units[c];
    if (units >= (long)d->pictures->cells) return STATUS_OK;
    return fault_set(
        d->fault, STATUS_DATA,
        "%s: enough for %ld cells of the %zu of all murals; buy more, say stock-only = "
        "no, or leave a mural out",
        d->show->shared.stock, units, d->pictures->cells);
}

static Status solve(Demand *d, long *demand)
{
    const int colours = d->studio->palette.count;
    long limit[PALETTE_MOST];
    for (int c = 0; c < colours; c++)
        limit[c] = d->offered[c] ? (d->studio->units[c] + (long)d->apart - 1) / (long)d->apart : 0;
    const Transport problem = {d->count, colours, d->cost, limit};
    const Status status = transport_solve(&problem, d->colour, NULL, d->voice, d->fault);
    const uint8_t *from = d->colour;
    for (int i = 0; i < d->show->count && !status; i++)
        for (size_t at = 0; at < cells_of(d, i); at += d->apart) {
            const size_t rest = cells_of(d, i) - at;
            demand[(size_t)i * PALETTE_MOST + *from++] += (long)(rest < d->apart ? rest : d->apart);
        }
    return status;
}

Status stock_demand(const DemandTask *task, long *demand, const Voice *voice, Fault *fault)
{
    Demand d = {.show = task->show,
                .studio = task->studio,
                .pictures = task->pictures,
                .offered = task->offered,
                .threads = task->threads ? task->threads : bands_processors(),
                .voice = voice,
                .fault = fault};
    memset(demand, 0, (size_t)task->show->count * PALETTE_MOST * sizeof *demand);
    Status status = check_room(&d);
    if (!status) status = gather_costs(&d);
    if (!status) status = solve(&d, demand);
    memory_free(d.colour);
    memory_free(d.cost);
    return status;
}
