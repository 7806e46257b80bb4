/* A colour a cell: matched, mixed or searched for, within what the stock has and around what
 * stands. */
#include "plan/work.h"

#include "base/memory.h"
#include "cells/dither.h"
#include "cells/look.h"
#include "cells/match.h"
#include "cells/transport.h"
#include "plan/trial_lay.h"

#include <string.h>

/* What the cells that stand ask of the choice of the others' colours. */
static Keep kept(const Work *work)
{
    return (Keep){work->standing ? work->standing->cell : NULL, work->offered.count};
}

static Status match_colours(Work *work)
{
    Match *match;
    Status status = match_create(&match, &work->offered, work->fault);
    if (!status)
        status =
            match_image(match, work->target, work->threads, &work->grid, work->voice, work->fault);
    match_free(match);
    return status;
}

/* Whether bricks can be laid on trial: reliefs come later. */
static Status can_try(Work *work, bool *can_out)
{
    const bool raised = work->standing && work->standing->earlier->grid.steps;
    const Status status = depth_wanted(work->job, can_out, work->fault);
    *can_out = !*can_out && !raised;
    return status;
}

static Status search_colours(Work *work)
{
    const Mural *m = &work->mural;
    LookOptions options = LOOK_OPTIONS_DEFAULT;
    options.viewpoint = work_viewpoint(work, 1);
    options.build = m->solid.build;
    options.thrift = work->job->thrift;
    options.detail = work->job->detail;
    options.limit = work->job->stock_only ? work->limit : NULL;
    options.keep = kept(work);
    options.threads = work->threads;
    options.voice = work->voice;
    bool can;
    Status status = can_try(work, &can);
    if (!status && can) status = work_cut_panels(work);
    if (status) return status;
    double cost[SIZES_MOST];
    const LayOptions laying = {.threads = work->threads, .cost = work_brick_costs(work, cost)};
    TrialLay trial;
    trial_lay_init(&trial, &m->solid, &work->sizes, &work->panels, &laying, work->voice);
    const LookLayer layer = trial_lay_layer(&trial);
    options.layer = can ? &layer : NULL;
    LookReport report;
    status = look_search(work->target, &work->palette, &options, &work->grid, &report, work->fault);
    panels_clear(&work->panels);
    return status;
}

static Status mix_colours(Work *work)
{
    DitherOptions options = dither_defaults;
    options.keep = kept(work);
    options.threads = work->threads;
    options.voice = work->voice;
    switch ((Dither)work->job->dither) {
    case DITHER_DISTANCE:
        return search_colours(work);
    case DITHER_NONE:
        return match_colours(work);
    case DITHER_FLOYD_STEINBERG:
        return dither_floyd_steinberg(&work->palette, work->target, &options, &work->grid,
                                      work->fault);
    case DITHER_BLUE_NOISE:
        return dither_blue_noise(&work->palette, work->target, &options, &work->grid, work->fault);
    }
    return fault_set(work->fault, STATUS_INTERNAL, "plan: dither %d; report this",
                     work->job->dither);
}

static bool stands(const Work *work, size_t cell)
{
    return work->standing && work->standing->cell[cell];
}

/* Cells of each colour that are still to be built. */
void work_count_cells(const Work *work, long count_out[PALETTE_MOST])
{
    memset(count_out, 0, PALETTE_MOST * sizeof *count_out);
    for (size_t i = 0; i < grid_cells(&work->grid); i++)
        if (!stands(work, i)) count_out[work->grid.colour[i]]++;
}

/* The first colour that takes more cells than its limit, or -1. */
static int beyond_limit(const Work *work, long *cells_out)
{
    long count[PALETTE_MOST];
    work_count_cells(work, count);
    for (int c = 0; c < work->palette.count; c++) {
        *cells_out = count[c];
        if (count[c] > work->limit[c]) return c;
    }
    return -1;
}

/* Gives the cells that do not stand the colours that cost least within the limits; their
 * costs move to the front. */
static Status ration_cells(Work *work, uint16_t *cost)
{
    const size_t cells = grid_cells(&work->grid), colours = (size_t)work->offered.count;
    uint8_t *chosen = memory_create(cells, 1), *next = chosen;
    if (!chosen) return memory_fault(work->fault, cells, 1);
    Transport ration = {0, work->offered.count, cost, work->limit};
    for (size_t i = 0; i < cells; i++)
        if (!stands(work, i))
            memmove(cost + ration.cells++ * colours, cost + i * colours, colours * sizeof *cost);
    const Status status = transport_solve(&ration, chosen, NULL, work->voice, work->fault);
    for (size_t i = 0; !status && i < cells; i++)
        if (!stands(work, i)) work->grid.colour[i] = *next++;
    memory_free(chosen);
    return status;
}

/* Takes colours back from cells until the limits hold, at the least difference in all:
 * to the target, or to what was mixed for it. */
static Status ration_colours(Work *work)
{
    Image mixed = {0};
    uint16_t *cost = NULL;
    const bool plain = work->job->dither == DITHER_NONE;
    Status status = plain ? STATUS_OK : eye_face(&work->palette, &work->grid, &mixed, work->fault);
    if (!status)
        status = transport_costs(plain ? work->target : &mixed, &work->offered, work->threads,
                                 &cost, work->fault);
    if (!status) status = ration_cells(work, cost);
    memory_free(cost);
    image_clear(&mixed);
    return status;
}

Status work_colour_cells(Work *work)
{
    long cells;
    if (work->standing) built_part_colour(work->standing, &work->palette, &work->grid);
    const Status status = mix_colours(work);
    if (work->standing) built_part_colour(work->standing, &work->palette, &work->grid);
    if (status || !work->job->stock_only || beyond_limit(work, &cells) < 0) return status;
    return ration_colours(work);
}

/* The colours that only what stands has are there to be read, for its own cells. */
static Status check_offered(const Work *work)
{
    const size_t columns = (size_t)work->grid.columns;
    for (size_t i = 0; i < grid_cells(&work->grid); i++) {
        const int colour = work->grid.colour[i];
        if (colour < work->offered.count || stands(work, i)) continue;
        return fault_set(work->fault, STATUS_DATA,
                         "%s: column %zu, row %zu: colour %s is in what stands alone and to be had "
                         "no more; paint another there",
                         work->job->cells, i % columns + 1, i / columns + 1,
                         work->palette.colour[colour].id);
    }
    return STATUS_OK;
}

/* The user's own cells are not changed, not even for lack of bricks; but what stands
 * stands. */
static Status check_cells(Work *work)
{
    long cells;
    const long others =
        work->standing ? built_part_colour(work->standing, &work->palette, &work->grid) : 0;
    const Status status = check_offered(work);
    if (status) return status;
    if (others)
        voice_note(work->voice, "%s: %ld cells stand already in another colour, and keep it",
                   work->job->cells, others);
    const int c = work->job->stock_only ? beyond_limit(work, &cells) : -1;
    if (c < 0) return STATUS_OK;
    return fault_set(work->fault, STATUS_DATA,
                     "%s: colour %s takes %ld cells, the stock has %ld units; use less of it, or "
                     "leave out --stock-only",
                     work->job->cells, work->palette.colour[c].id, cells, work->limit[c]);
}

Status work_choose_colours(Work *work)
{
    const bool fit = work->job->tone == TONE_FIT;
    Status status = fit ? work_fit_tone(work) : STATUS_OK;
    if (status) return status;
    work->target = fit ? &work->fitted : &work->image;
    if (work->grid.colour) return check_cells(work);
    status = grid_init(&work->grid, work->image.columns, work->image.rows, false, work->fault);
    return status ? status : work_colour_cells(work);
}
