/* Costs are whole numbers of 16 bits (cells/transport.h); the dearest mural's are as they are, and
 * those of the others less by the ratio of priorities. */
#include "show/stock_demand.h"

#include "base/bands.h"
#include "base/memory.h"
#include "cells/transport.h"
#include "plan/own_cells.h"
#include "plan/sampled_picture.h"

#include <math.h>
#include <string.h>

typedef struct Demand {
    const Show *show;
    const Studio *studio;
    int threads;
    const Voice *voice;
    Fault *fault;
    SampledPicture *picture; /* of each mural, as is the next */
    Grid *own;               /* painted cells, where it has them */
    size_t total, apart;     /* cells in all; every so many of them is looked at */
    size_t count;            /* that are looked at */
    uint16_t *cost;
    uint8_t *colour;
} Demand;

static size_t cells_of(const Demand *d, int mural)
{
    const Image *image = &d->picture[mural].image;
    return (size_t)image->columns * (size_t)image->rows;
}

static size_t looked_at(const Demand *d, int mural)
{
    return (cells_of(d, mural) + d->apart - 1) / d->apart;
}

static Status look(Demand *d, int mural)
{
    const Job *job = &d->show->mural[mural].job;
    const Brief brief = brief_of(job, NULL,
                                 &(Voice){.self = d->voice ? d->voice->self : NULL,
                                          .stopped = d->voice ? d->voice->stopped : NULL});
    Status status = STATUS_OK;
    if (*job->cells) status = own_cells_init(&d->own[mural], &brief, &d->studio->palette, d->fault);
    if (!status)
        status = sampled_picture_init(&d->picture[mural], &brief, NULL, &d->own[mural], d->fault);
    if (!status) d->total += cells_of(d, mural);
    return status;
}

/* The mural's rows of costs: every apart-th of its own. */
static Status fill_costs(Demand *d, int mural, double factor, uint16_t *to)
{
    const size_t colours = (size_t)d->studio->palette.count;
    const Grid *own = &d->own[mural];
    uint16_t *all = NULL;
    const Status status = transport_costs(&d->picture[mural].image, &d->studio->palette, d->threads,
                                          d->voice, &all, d->fault);
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
    d->apart = d->total / DEMAND_CELLS_MOST + 1;
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
    for (int c = 0; c < d->studio->palette.count; c++) units += d->studio->units[c];
    if (units >= (long)d->total) return STATUS_OK;
    return fault_set(
        d->fault, STATUS_DATA,
        "%s: enough for %ld cells of the %zu of all murals; buy more, say stock-only = "
        "no, or leave a mural out",
        d->show->shared.stock, units, d->total);
}

static Status solve(Demand *d, long *demand)
{
    const int colours = d->studio->palette.count;
    long limit[PALETTE_MOST];
    for (int c = 0; c < colours; c++)
        limit[c] = (d->studio->units[c] + (long)d->apart - 1) / (long)d->apart;
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

Status stock_demand(const Show *show, const Studio *studio, int threads, long *demand,
                    const Voice *voice, Fault *fault)
{
    const size_t murals = (size_t)show->count;
    Demand d = {.show = show,
                .studio = studio,
                .threads = threads ? threads : bands_processors(),
                .voice = voice,
                .fault = fault,
                .picture = memory_create(murals, sizeof(SampledPicture)),
                .own = memory_create(murals, sizeof(Grid))};
    Status status = d.picture && d.own ? STATUS_OK : memory_fault(fault, murals, sizeof(Grid));
    memset(demand, 0, murals * PALETTE_MOST * sizeof *demand);
    for (int i = 0; i < show->count && !status; i++) status = look(&d, i);
    if (!status) status = check_room(&d);
    if (!status) status = gather_costs(&d);
    if (!status) status = solve(&d, demand);
    for (int i = 0; d.picture && d.own && i < show->count; i++) {
        sampled_picture_clear(&d.picture[i]);
        grid_clear(&d.own[i]);
    }
    memory_free(d.colour);
    memory_free(d.cost);
    memory_free(d.own);
    memory_free(d.picture);
    return status;
}
