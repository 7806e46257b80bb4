#include "work.h"

#include "bands.h"
#include "carry.h"
#include "cells.h"
#include "dither.h"
#include "eye.h"
#include "lay.h"
#include "look.h"
#include "match.h"
#include "measure.h"
#include "memory.h"
#include "ration.h"
#include "sample.h"
#include "shelf.h"
#include "statics.h"
#include "text.h"
#include "tie.h"
#include "tone.h"
#include "trial.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

Status work_interrupted(Work *work)
{
    return fault_set(work->fault, STATUS_INTERRUPTED,
                     "plan: stopped from outside, nothing was changed; run it again");
}

/* ---- what the studio has ---- */

/* The colours to be had come first; those that only what stands has, after them. */
static Status take_palette(Work *work)
{
    const char *path = work->job->palette;
    const Standing *standing = work->standing;
    Status status = STATUS_OK;
    if (standing && standing->palette_kept)
        work->palette = standing->earlier->palette;
    else if (*path)
        status = palette_read(&work->palette, path, work->voice, work->fault);
    else
        status = palette_default(&work->palette, work->fault);
    if (status) return status;
    work->offered = work->palette;
    if (standing && standing->palette_kept)
        work->offered.count = standing->earlier->offered;
    else if (standing) {
        standing_note_values(standing, &work->palette, work->voice);
        status = standing_add_colours(standing, &work->palette, work->fault);
    }
    work->mural.offered = work->offered.count;
    if (work->offered.count < work->palette.count)
        voice_note(work->voice,
                   "palette: what stands has colours that are to be had no more, %d from %s on; "
                   "nothing else takes them",
                   work->palette.count - work->offered.count,
                   work->palette.colour[work->offered.count].id);
    return status;
}

Status work_take_in(Work *work)
{
    const Job *job = work->job;
    Status status = take_palette(work);
    if (!status && !*job->bricks) sizes_default(&work->sizes, job->pitch, job->brick_height);
    if (!status && *job->bricks)
        status = sizes_read(&work->sizes, job->bricks, job->pitch, job->brick_height, work->voice,
                            work->fault);
    if (!status && *job->stock)
        status = stock_read(&work->stock, job->stock, work->stock_colours, &work->palette,
                            &work->sizes, work->voice, work->fault);
    if (!status && job->stock_only && !*job->stock)
        status = fault_set(work->fault, STATUS_USAGE,
                           "--stock-only: there is no stock file; give one with --stock, or say "
                           "--stock-only=no");
    shelf_units(&work->stock, &work->sizes, work->limit);
    if (!status && work->standing)
        status = standing_bricks(work->standing, &work->palette, &work->sizes, &work->built,
                                 work->fault);
    return status;
}

/* ---- true size ---- */

static double whole_cells(double length, double cell) { return floor(length / cell + 0.5); }

/* What the job says of the grid, 0 where it does not. */
static double asked_columns(const Work *work)
{
    const Job *job = work->job;
    return job->width > 0 ? fmax(1, whole_cells(job->width, work->mural.cell_width_mm))
                          : job->columns;
}
static double asked_rows(const Work *work)
{
    const Job *job = work->job;
    return job->height > 0 ? fmax(1, whole_cells(job->height, work->mural.cell_height_mm))
                           : job->rows;
}

/* The part that the user cut out, or the whole. */
static Status frame_cut(Work *work, const Source *source, Crop *crop)
{
    long cut[4];
    const Status status = job_crop(work->job, cut, work->fault);
    *crop = crop_all(source);
    if (status || !cut[2]) return status;
    const Crop asked = {(double)cut[0], (double)cut[1], (double)cut[2], (double)cut[3]};
    if (asked.x + asked.width > crop->width || asked.y + asked.height > crop->height)
        return fault_set(work->fault, STATUS_USAGE,
                         "--crop: %s reaches outside the picture of %.0f x %.0f; crop less",
                         work->job->crop, crop->width, crop->height);
    *crop = asked;
    return STATUS_OK;
}

/* The user's own cells, which tell the mural's size, of this plan or of the earlier one. */
static const Grid *grid_given(const Work *work)
{
    const Earlier *earlier = work->standing ? work->standing->earlier : NULL;
    return work->grid.colour ? &work->grid : earlier && *earlier->job.cells ? &earlier->grid : NULL;
}

/* The grid, and the part of the upright picture that it shows. */
static Status frame_fit(Work *work, const Source *source)
{
    const Mural *m = &work->mural;
    DepthFrame *frame = &work->frame;
    Crop *crop = &frame->crop;
    const Status status = frame_cut(work, source, &frame->cut);
    if (status) return status;
    *crop = frame->cut;
    frame->width = crop_all(source).width;
    frame->height = crop_all(source).height;
    const Grid *given = grid_given(work);
    double columns = given ? given->columns : asked_columns(work);
    double rows = given ? given->rows : asked_rows(work);
    const double cell = m->cell_height_mm / m->cell_width_mm;
    if (columns > 0 && rows > 0) { /* keep the middle that has the mural's aspect */
        *crop = crop_central(*crop, columns / (rows * cell));
    } else if (columns > 0) {
        rows = fmax(1, whole_cells(columns * crop->height / crop->width, cell));
    } else {
        columns = fmax(1, whole_cells(rows * cell * crop->width / crop->height, 1));
    }
    if (!(columns <= GRID_MOST && rows <= GRID_MOST))
        return fault_set(work->fault, STATUS_USAGE,
                         "plan: %.0f x %.0f cells; choose a size of at most %d each way", columns,
                         rows, GRID_MOST);
    frame->columns = (int)columns;
    frame->rows = (int)rows;
    return STATUS_OK;
}

/* ---- the picture ---- */

/* The file's name without its folder, as plan.json tells it. */
static void tell_reference(Work *work)
{
    Reference *r = &work->reference;
    const char *slash = strrchr(work->job->reference, '/');
    const char *name = slash ? slash + 1 : work->job->reference;
    text_tame(r->file, sizeof r->file, name, strlen(name));
    snprintf(r->sha256, sizeof r->sha256, "%s", work->facts.sha256);
    snprintf(r->profile, sizeof r->profile, "%s", work->facts.profile);
    r->width = work->facts.width;
    r->height = work->facts.height;
}

/* What stands was planned from one picture, in one size. */
static Status check_same(Work *work)
{
    const Earlier *earlier = work->standing ? work->standing->earlier : NULL;
    if (earlier && strcmp(earlier->sha256, work->facts.sha256) != 0)
        return fault_set(work->fault, STATUS_DATA,
                         "%s: not the picture that %s was planned from; give that one",
                         text_place(work->job->reference), earlier->folder);
    if (earlier &&
        (earlier->grid.columns != work->frame.columns || earlier->grid.rows != work->frame.rows))
        return fault_set(work->fault, STATUS_DATA,
                         "%s: %d x %d cells stand in plan.json, its settings make %d x %d; restore "
                         "the plan from a copy",
                         earlier->folder, earlier->grid.columns, earlier->grid.rows,
                         work->frame.columns, work->frame.rows);
    return STATUS_OK;
}

Status work_look(Work *work)
{
    const Job *job = work->job;
    PictureOptions options = PICTURE_OPTIONS_DEFAULT;
    options.limit_pixels = job->limit * 1e6;
    Status status = job_ground(job, options.ground, work->fault);
    Picture *picture = NULL;
    if (!status)
        status = picture_open(&picture, job->reference, &options, work->voice, work->fault);
    if (!status) status = frame_fit(work, picture_source(picture));
    if (!status)
        status =
            sample_image(picture_source(picture), &work->frame.crop, work->frame.columns,
                         work->frame.rows, work->threads, &work->image, work->voice, work->fault);
    if (!status) status = picture_finish(picture, &work->facts, work->fault);
    picture_close(picture);
    if (!status) status = check_same(work);
    if (!status) tell_reference(work);
    return status;
}

/* ---- what there is to lay ---- */

/* Panels that stand were cut already. */
static Status check_cut(Work *work)
{
    if (!work->standing) return STATUS_OK;
    const Panels *now = &work->panels, *was = &work->standing->earlier->panels;
    bool same = now->count == was->count;
    for (int i = 0; same && i < now->count; i++) {
        const Panel *p = &now->panel[i], *q = &was->panel[i];
        same = p->column == q->column && p->row == q->row && p->columns == q->columns &&
               p->rows == q->rows && !strcmp(p->name, q->name);
    }
    if (same) return STATUS_OK;
    return fault_set(work->fault, STATUS_DATA,
                     "%s: with this brick set the panels would not be those that stand; plan with "
                     "the set that it was planned with",
                     work->standing->earlier->folder);
}

static Status cut_panels(Work *work)
{
    PanelLimits limits = {.mass_kg = work->job->panel_mass};
    work->mural.solid.grid = &work->grid;
    int columns = 0, rows = 0; /* of a kit's cards, which are panels */
    Status status = job_panel(work->job, &limits.columns, &limits.rows, work->fault);
    if (!status) status = job_kit(work->job, &columns, &rows, work->fault);
    if (status) return status;
    if (columns) limits.columns = columns;
    if (rows) limits.rows = rows;
    status = panels_init(&work->panels, &work->mural.solid, &work->sizes, &limits, work->fault);
    return status ? status : check_cut(work);
}

/* What a brick of each size costs to buy and to lay, where the job favours cost and gives
 * a price or a rate; else NULL, for every brick alike. */
static const double *brick_costs(const Work *work, double cost_out[SIZES_MOST])
{
    const Job *job = work->job;
    double sum = 0;
    for (int i = 0; i < work->sizes.count; i++) {
        cost_out[i] = work->sizes.size[i].price + job->rate / job->pace;
        sum += cost_out[i];
    }
    return job->favour == FAVOUR_COST && sum > 0 ? cost_out : NULL;
}

/* ---- a colour a cell ---- */

static size_t cells_of(const Grid *grid) { return (size_t)grid->columns * (size_t)grid->rows; }

/* The cells of the earlier plan, which were the user's own. */
static Status keep_cells(Work *work)
{
    const Grid *from = &work->standing->earlier->grid;
    const Status status = grid_init(&work->grid, from->columns, from->rows, false, work->fault);
    if (!status) memcpy(work->grid.colour, from->colour, cells_of(from));
    return status;
}

Status work_read_cells(Work *work)
{
    const Job *job = work->job;
    if (!*job->cells) return STATUS_OK;
    if (work->standing && work->standing->cells_kept) return keep_cells(work);
    return cells_read(&work->grid, job->cells, &work->palette,
                      (int)fmin(asked_columns(work), GRID_MOST),
                      (int)fmin(asked_rows(work), GRID_MOST), work->fault);
}

/* The eye at a multiple of the job's distance. */
static Viewpoint viewpoint(const Work *work, double times)
{
    const Mural *m = &work->mural;
    return (Viewpoint){m->cell_width_mm, m->cell_height_mm, times * work->job->distance};
}

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

/* Whether bricks can be laid on trial: reliefs come later, and a limit on colours first. */
static Status can_try(Work *work, bool *can_out)
{
    const bool raised = work->standing && work->standing->earlier->grid.steps;
    const Status status = depth_wanted(work->job, can_out, work->fault);
    *can_out = !*can_out && !raised && !work->job->stock_only;
    return status;
}

static Status search_colours(Work *work)
{
    const Mural *m = &work->mural;
    LookOptions options = LOOK_OPTIONS_DEFAULT;
    options.viewpoint = viewpoint(work, 1);
    options.build = m->solid.build;
    options.thrift = work->job->thrift;
    options.detail = work->job->detail;
    options.limit = work->job->stock_only ? work->limit : NULL;
    options.keep = kept(work);
    options.threads = work->threads;
    bool can;
    Status status = can_try(work, &can);
    if (!status && can) status = cut_panels(work);
    if (status) return status;
    double cost[SIZES_MOST];
    const LayOptions laying = {.threads = work->threads, .cost = brick_costs(work, cost)};
    Trial trial;
    trial_init(&trial, &m->solid, &work->sizes, &work->panels, &laying, work->voice);
    const LookLayer layer = trial_layer(&trial);
    options.layer = can ? &layer : NULL;
    LookReport report;
    status = look_search(work->target, &work->palette, &options, &work->grid, &report, work->voice,
                         work->fault);
    panels_clear(&work->panels);
    return status;
}

static Status mix_colours(Work *work)
{
    DitherOptions options = dither_defaults;
    options.keep = kept(work);
    switch ((Dither)work->job->dither) {
    case DITHER_DISTANCE:
        return search_colours(work);
    case DITHER_NONE:
        return match_colours(work);
    case DITHER_FLOYD_STEINBERG:
        return dither_floyd_steinberg(&work->palette, work->target, &options, work->threads,
                                      &work->grid, work->voice, work->fault);
    case DITHER_BLUE_NOISE:
        return dither_blue_noise(&work->palette, work->target, &options, work->threads, &work->grid,
                                 work->voice, work->fault);
    }
    return fault_set(work->fault, STATUS_INTERNAL, "plan: dither %d; report this",
                     work->job->dither);
}

static bool stands(const Work *work, size_t cell)
{
    return work->standing && work->standing->cell[cell];
}

/* Cells of each colour that are still to be built. */
static void count_cells(const Work *work, long count_out[PALETTE_MOST])
{
    memset(count_out, 0, PALETTE_MOST * sizeof *count_out);
    for (size_t i = 0; i < cells_of(&work->grid); i++)
        if (!stands(work, i)) count_out[work->grid.colour[i]]++;
}

/* The first colour that takes more cells than its limit, or -1. */
static int beyond_limit(const Work *work, long *cells_out)
{
    long count[PALETTE_MOST];
    count_cells(work, count);
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
    const size_t cells = cells_of(&work->grid), colours = (size_t)work->offered.count;
    uint8_t *chosen = memory_create(cells, 1), *next = chosen;
    if (!chosen) return memory_fault(work->fault, cells, 1);
    Ration ration = {0, work->offered.count, cost, work->limit};
    for (size_t i = 0; i < cells; i++)
        if (!stands(work, i))
            memmove(cost + ration.cells++ * colours, cost + i * colours, colours * sizeof *cost);
    const Status status = ration_solve(&ration, chosen, NULL, work->voice, work->fault);
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
        status = ration_costs(plain ? work->target : &mixed, &work->offered, work->threads, &cost,
                              work->fault);
    if (!status) status = ration_cells(work, cost);
    memory_free(cost);
    image_clear(&mixed);
    return status;
}

static Status colour_cells(Work *work)
{
    long cells;
    if (work->standing) standing_colour(work->standing, &work->palette, &work->grid);
    const Status status = mix_colours(work);
    if (work->standing) standing_colour(work->standing, &work->palette, &work->grid);
    if (status || !work->job->stock_only || beyond_limit(work, &cells) < 0) return status;
    return ration_colours(work);
}

/* The colours that only what stands has are there to be read, for its own cells. */
static Status check_offered(const Work *work)
{
    const size_t columns = (size_t)work->grid.columns;
    for (size_t i = 0; i < cells_of(&work->grid); i++) {
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
        work->standing ? standing_colour(work->standing, &work->palette, &work->grid) : 0;
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

static Status fit_tone(Work *work)
{
    if (work->fitted.xyz) return STATUS_OK;
    return tone_fit(&work->image, &work->offered, work->threads, &work->fitted, work->fault);
}

Status work_choose_colours(Work *work)
{
    const bool fit = work->job->tone == TONE_FIT;
    Status status = fit ? fit_tone(work) : STATUS_OK;
    if (status) return status;
    work->target = fit ? &work->fitted : &work->image;
    if (work->grid.colour) return check_cells(work);
    status = grid_init(&work->grid, work->image.columns, work->image.rows, false, work->fault);
    return status ? status : colour_cells(work);
}

/* ---- steps a cell ---- */

/* A mural that is under way keeps its relief. */
static Status keep_steps(Work *work)
{
    const Grid *from = &work->standing->earlier->grid;
    if (!from->steps) return STATUS_OK;
    const size_t cells = cells_of(from);
    work->grid.steps = memory_create(cells, 1);
    if (!work->grid.steps) return memory_fault(work->fault, cells, 1);
    memcpy(work->grid.steps, from->steps, cells);
    return STATUS_OK;
}

/* Steps follow the edges of the bricks' colours, unless these are mixed or searched for:
 * then those of the picture. */
Status work_raise(Work *work)
{
    if (work->standing) return keep_steps(work);
    bool wanted;
    Status status = depth_wanted(work->job, &wanted, work->fault);
    if (status || !wanted) return status;
    const size_t cells = (size_t)work->grid.columns * (size_t)work->grid.rows;
    uint8_t *steps = memory_create(cells, 1);
    if (!steps) return memory_fault(work->fault, cells, 1);
    Image face = {0};
    const bool plain = *work->job->cells || work->job->dither == DITHER_NONE;
    if (plain) status = eye_face(&work->palette, &work->grid, &face, work->fault);
    if (!status)
        status = depth_steps(work->job, &work->frame, &work->image, plain ? &face : &work->image,
                             work->threads, steps, work->voice, work->fault);
    image_clear(&face);
    if (status)
        memory_free(steps);
    else
        work->grid.steps = steps;
    return status;
}

/* Takes down what no brick of a wall could carry, and lists what is not as it was asked. */
static Status carry_relief(Work *work)
{
    const Solid *solid = &work->mural.solid;
    Carried carried;
    if (!work->grid.steps || work->standing) return STATUS_OK; /* as it was first planned */
    Status status = carry_steps(&work->grid, solid->build, solid->base, &work->sizes, &work->panels,
                                &carried, work->voice, work->fault);
    carried_clear(&carried);
    carried_clear(&work->carried);
    if (!status) status = carried_list(&work->carried, &work->grid, work->asked, work->fault);
    return status;
}

static Status keep_asked(Work *work)
{
    if (!work->grid.steps) return STATUS_OK;
    const size_t cells = cells_of(&work->grid);
    work->asked = memory_create(cells, 1);
    if (!work->asked) return memory_fault(work->fault, cells, 1);
    memcpy(work->asked, work->grid.steps, cells);
    return STATUS_OK;
}

static void say_carried(const Work *work)
{
    const Carried *c = &work->carried;
    if (c->lowered)
        voice_note(work->voice,
                   "relief: %zu cells stand %ld steps lower in all than asked, since nothing below "
                   "could carry them; plan.json lists them",
                   c->lowered, c->steps);
    if (c->count > c->lowered)
        voice_note(work->voice,
                   "relief: %zu cells stand a step higher than asked, so that bricks behind them "
                   "join what their colours part; plan.json lists them",
                   c->count - c->lowered);
}

/* ---- bricks ---- */

/* The colour whose bricks cost least for their volume, where the stock tells prices. */
static int cheapest_colour(const Work *work)
{
    double least = INFINITY;
    int colour = 0;
    for (size_t i = 0; i < work->stock.count; i++) {
        const StockLine *line = &work->stock.line[i];
        const Size *size = &work->sizes.size[line->size];
        const double price = line->price / (size->width * size->length);
        if (line->colour >= work->offered.count) continue;
        if (!(price < least) && !(price == least && line->colour < colour)) continue;
        least = price;
        colour = line->colour;
    }
    return colour;
}

/* The colour of backing that nothing else decides. */
static Status find_fill(Work *work)
{
    const char *id = work->job->backing;
    work->fill = *id ? palette_find(&work->offered, id) : cheapest_colour(work);
    if (work->fill >= 0) return STATUS_OK;
    return fault_set(work->fault, STATUS_USAGE,
                     "--backing: '%s' is no colour of the palette; give one of its ids", id);
}

static Status lay_at(Work *work, const double *cost, double effort)
{
    LayOptions options = LAY_OPTIONS_DEFAULT;
    options.fill = work->fill;
    options.threads = work->threads;
    options.effort = effort;
    options.cost = cost;
    options.regular = work->job->favour == FAVOUR_BOND;
    options.standing = work->standing ? &work->built : NULL;
    laid_clear(&work->laid);
    Status status = lay(&work->mural.solid, &work->sizes, &work->panels, &options, &work->laid,
                        &work->laying, work->voice, work->fault);
    if (!status && work->stock.count)
        status = shelf_colour_backing(&work->laid, &work->offered, &work->sizes, &work->stock,
                                      work->fault);
    return status;
}

static Status count_parts(Work *work, const Laid *standing)
{
    parts_clear(&work->parts);
    return parts_init(&work->parts, &work->laid, standing, &work->palette, &work->sizes,
                      &work->stock, work->job->spare, work->fault);
}

/* Lays once more, sparing the sizes that lacked, and keeps the laying that lacks less. */
static Status lay_sparing(Work *work)
{
    double cost[SIZES_MOST];
    Status status = count_parts(work, NULL);
    if (status || !shelf_costs(&work->parts, &work->sizes, cost)) return status;
    const long lacking = shelf_lacking(&work->parts);
    const LayReport proven = work->laying; /* with all sizes at what they cost */
    Laid first = work->laid;
    work->laid = (Laid){0};
    status = lay_at(work, cost, work->job->effort);
    if (!status) status = count_parts(work, NULL);
    work->laying = proven;
    if (!status && shelf_lacking(&work->parts) < lacking) {
        laid_clear(&first);
        return STATUS_OK;
    }
    laid_clear(&work->laid);
    work->laid = first;
    return status;
}

/* The size that fewest bricks have of those that may be left out; -1 for none. */
static int rarest_size(const Work *work, const double *cost, const bool *needed)
{
    size_t used[SIZES_MOST] = {0};
    int rarest = -1;
    for (size_t i = 0; i < work->laid.count; i++) used[work->laid.brick[i].size]++;
    for (int i = 0; i < work->sizes.count; i++)
        if (isfinite(cost[i]) && !needed[i] && (rarest < 0 || used[i] < used[rarest])) rarest = i;
    return rarest;
}

/* Leaves out one size after the other, as long as quick layings take hardly more bricks. */
static Status find_few_sizes(Work *work, double cost_out[SIZES_MOST])
{
    static const double hardly_more = 1.06, quick = 0.1;
    bool needed[SIZES_MOST] = {false};
    for (int i = 0; i < work->sizes.count; i++) cost_out[i] = 1;
    Status status = lay_at(work, cost_out, quick * work->job->effort);
    const double most = hardly_more * (double)work->laid.count;
    for (int i; !status && (i = rarest_size(work, cost_out, needed)) >= 0;) {
        cost_out[i] = INFINITY;
        status = lay_at(work, cost_out, quick * work->job->effort);
        needed[i] = status == STATUS_DATA || (double)work->laid.count > most;
        if (!needed[i]) continue;
        cost_out[i] = 1;
        status = lay_at(work, cost_out, quick * work->job->effort);
    }
    return status;
}

/* Lays the mural once more, of few sizes whose joints bond. */
static Status lay_bonded(Work *work)
{
    double cost[SIZES_MOST];
    const LayReport proven = work->laying; /* of all sizes */
    Status status = find_few_sizes(work, cost);
    if (!status) status = lay_at(work, cost, work->job->effort);
    work->laying = proven;
    return status;
}

static Status lay_units(Work *work)
{
    double cost[SIZES_MOST];
    Status status = lay_at(work, brick_costs(work, cost), work->job->effort);
    if (!status && work->job->favour == FAVOUR_BOND) status = lay_bonded(work);
    return status || !work->stock.count ? status : lay_sparing(work);
}

/* Lays the mural; where panels of a relief wall come apart, ties them and lays it again. */
static Status lay_tied(Work *work)
{
    enum { ROUNDS = 4 };
    size_t raised = 1;
    Status status = STATUS_OK;
    for (int round = 0; round < ROUNDS && raised && !status; round++) {
        status = lay_units(work);
        if (work->standing) return status; /* its relief stays as it was first planned */
        if (!status)
            status = tie_steps(&work->grid, &work->mural.solid, &work->panels, &work->laid, &raised,
                               work->fault);
        if (!status && raised) status = carry_relief(work);
    }
    return status || !raised ? status : lay_units(work);
}

/* ---- a hollow core ---- */

static double laid_kg(const Work *work)
{
    double mass_g = 0;
    for (size_t i = 0; i < work->laid.count; i++)
        mass_g += work->sizes.size[work->laid.brick[i].size].mass_g;
    return mass_g / 1000;
}

/* Fills what a panel that does not hold may lack; *filled_out is whether anything was. */
static Status mend_core(Work *work, bool all, bool *filled_out)
{
    const Mural *m = &work->mural;
    Bond bond = {0};
    Status status =
        bond_init(&bond, &m->solid, &work->panels, &work->laid, work->threads, work->fault);
    if (!status)
        status = hollow_mend(&work->hollow, &m->solid, &work->sizes, &work->panels, &work->laid,
                             &bond, all, filled_out, work->fault);
    bond_clear(&bond);
    return status;
}

/* Lays around the core, and fills it again where panels do not hold: near the flaws, and in
 * the last round of a panel all through. */
static Status lay_around_core(Work *work)
{
    enum { ROUNDS = 4 };
    bool filled = true;
    Status status = STATUS_OK;
    for (int round = 0; round < ROUNDS && filled && !status; round++) {
        status = lay_units(work);
        if (!status) status = mend_core(work, round >= ROUNDS - 2, &filled);
    }
    return status;
}

static void say_saving(const Work *work)
{
    const Saving *s = &work->mural.saving;
    if (!s->units)
        voice_note(
            work->voice,
            "hollow: nothing is left out, since behind %d %s of shell is no core that bricks "
            "of this set fit around and bridge",
            s->shell, s->shell == 1 ? "unit" : "units");
    else
        voice_note(work->voice,
                   "hollow: %zu units are left out behind %d of shell, which saves %.2f kg %s "
                   "%ld bricks%s",
                   s->units, s->shell, s->mass_kg, s->bricks < 0 ? "but takes" : "and",
                   labs(s->bricks), s->bricks < 0 ? " more" : "");
}

/* Lays the mural; with a hollow core, after it was laid solid, to tell what that saves. */
static Status lay_solid(Work *work)
{
    Mural *m = &work->mural;
    hollow_clear(&work->hollow, &m->solid);
    Status status = lay_tied(work);
    if (status || !work->job->hollow) return status;
    m->saving = (Saving){.shell = work->job->hollow};
    const long bricks = (long)work->laid.count;
    const double mass_kg = laid_kg(work);
    status = hollow_carve(&work->hollow, &m->solid, &work->sizes, &work->panels, work->job->hollow,
                          work->voice, work->fault);
    if (status || !work->hollow.units) return status;
    status = lay_around_core(work);
    if (status == STATUS_DATA) { /* no brick of the set fits around it */
        hollow_clear(&work->hollow, &m->solid);
        return lay_units(work);
    }
    m->saving.units = work->hollow.units;
    m->saving.bricks = bricks - (long)work->laid.count;
    m->saving.mass_kg = mass_kg - laid_kg(work);
    return status;
}

/* ---- the shelf ---- */

/* Lowers the limits of colours that the laying overdraws, headers and sides that show
 * counted; -1 where none is, else the first of them. */
static int lower_limits(Work *work, long *taken_out, long *units_out)
{
    long units[PALETTE_MOST], taken[PALETTE_MOST], cells[PALETTE_MOST];
    int first = -1;
    shelf_units(&work->stock, &work->sizes, units);
    shelf_units_taken(&work->laid, taken);
    count_cells(work, cells);
    for (int c = 0; c < work->palette.count; c++) {
        if (taken[c] <= units[c]) continue;
        work->limit[c] = (long)((double)cells[c] * (double)units[c] / (double)taken[c]);
        if (first >= 0) continue;
        first = c;
        *taken_out = taken[c];
        *units_out = units[c];
    }
    return first;
}

/* Chooses and lays again until no colour is overdrawn. */
static Status lay_within_stock(Work *work)
{
    enum { ROUNDS = 8 };
    long taken, units;
    for (int round = 0;; round++) {
        const int c = lower_limits(work, &taken, &units);
        if (c < 0) return STATUS_OK;
        if (round == ROUNDS || *work->job->cells)
            return fault_set(work->fault, STATUS_DATA,
                             "%s: colour %s has %ld units, the bricks would take %ld; plan fewer "
                             "cells or leave out --stock-only",
                             work->job->stock, work->palette.colour[c].id, units, taken);
        Status status = colour_cells(work);
        if (!status) status = lay_solid(work);
        if (status) return status;
    }
}

/* A bound that holds for any colours: no brick fills more than the largest. */
static void bound_by_volume(Work *work)
{
    double cost[SIZES_MOST];
    const double *const costs = brick_costs(work, cost);
    long units = 0, largest = 1;
    for (size_t i = 0; i < work->laid.count; i++) {
        const Brick *b = &work->laid.brick[i];
        units += (long)b->columns * b->rows * b->tiers;
    }
    for (int i = 0; i < work->sizes.count; i++) {
        const long area = (long)work->sizes.size[i].width * work->sizes.size[i].length;
        if (area > largest) largest = area;
    }
    work->laying.lower_bound = (double)work->built.count + ceil((double)units / (double)largest);
    work->laying.lower_cost =
        lay_cost_of(&work->built, costs) + (double)units * lay_unit_cost(&work->sizes, costs);
}

static Status fit_to_shelf(Work *work)
{
    ShelfReport report;
    const Status status = shelf_fit(&work->mural.solid, &work->grid, work->target, &work->offered,
                                    &work->sizes, &work->stock, &work->laid, &report, work->fault);
    if (status) return status;
    if (report.recoloured) bound_by_volume(work);
    if (report.broken || report.recoloured)
        voice_note(work->voice,
                   "stock: %ld bricks were broken up and %ld cells changed colour to use the sizes "
                   "that are there",
                   report.broken, report.recoloured);
    if (report.lacking)
        voice_note(work->voice,
                   "stock: there is enough of each colour, but %ld bricks are not there in their "
                   "size; order.csv lists them",
                   report.lacking);
    return STATUS_OK;
}

/* ---- cards that ask alike ---- */

/* A card is at least a third of what was asked for each way: thin ones are no fun to build. */
static Status card_limits(const Work *work, CardLimits *limits_out)
{
    int columns, rows;
    const Status status = job_kit(work->job, &columns, &rows, work->fault);
    if (status) return status;
    const int third_columns = (columns + 2) / 3, third_rows = (rows + 2) / 3;
    *limits_out = (CardLimits){
        .least_columns = third_columns > KIT_LEAST ? third_columns : KIT_LEAST,
        .least_rows = third_rows > KIT_LEAST ? third_rows : KIT_LEAST,
        .most = KIT_MOST,
        .units = work->job->panel_mass * 1000 / panels_unit_g(&work->sizes),
        .target = work->mural.even.equal.mean,
    };
    return STATUS_OK;
}

/* Lays cards of one size, to see what they ask, and cuts others by that. A relief is taken down
 * for the panels that it is laid in, so that this trial leaves it as it is. */
static Status even_cards(Work *work)
{
    Panels even = {0};
    CardLimits limits;
    Status status = lay_units(work);
    if (status) return status;
    work->mural.even.equal = cards_spread(&work->panels, &work->laid);
    status = card_limits(work, &limits);
    if (!status) status = cards_cut(&even, &work->mural.solid, &work->laid, &limits, work->fault);
    if (status) return status;
    laid_clear(&work->laid);
    if (!even.count) {
        voice_note(work->voice, "kit: no cards of other sizes keep --panel-mass; they stay equal");
        return STATUS_OK;
    }
    panels_clear(&work->panels);
    work->panels = even;
    return STATUS_OK;
}

static void tell_evenness(Work *work)
{
    Evenness *even = &work->mural.even;
    if (!even->equal.cards) return;
    even->now = cards_spread(&work->panels, &work->laid);
    voice_note(work->voice,
               "kit: %d cards ask for %.0f to %.0f, a brick counting 1 and a colour %.0f, standard "
               "deviation %.0f %%; %d of one size would ask for %.0f to %.0f, %.0f %%",
               even->now.cards, even->now.least, even->now.most, CARD_COLOUR,
               100 * even->now.deviation, even->equal.cards, even->equal.least, even->equal.most,
               100 * even->equal.deviation);
}

/* ---- what stands ---- */

/* Puts what stands among what was laid around it, and tells what has changed. */
static Status join_standing(Work *work)
{
    const Standing *standing = work->standing;
    if (!standing) return STATUS_OK;
    Status status = STATUS_OK;
    for (size_t i = 0; !status && i < work->built.count; i++)
        status = laid_add(&work->laid, &work->built.brick[i], work->fault);
    if (status) return status;
    laid_sort(&work->laid, work->mural.solid.build == BUILD_WALL);
    laid_sort(&work->built, work->mural.solid.build == BUILD_WALL);
    status = laid_mark(&work->laid, &work->built, &work->stands, work->fault);
    if (status) return status;
    const Earlier *earlier = standing->earlier;
    const Bricks before = {&earlier->laid, &earlier->palette, &earlier->sizes};
    const Bricks after = {&work->laid, &work->palette, &work->sizes};
    work->mural.standing = &work->built;
    work->mural.stands = work->stands;
    work->mural.difference = &work->difference;
    return difference_init(&work->difference, &before, &after, &work->built, work->fault);
}

Status work_lay(Work *work)
{
    Status status = find_fill(work);
    if (!status) status = cut_panels(work);
    if (!status) status = keep_asked(work);
    if (!status && *work->job->kit && work->job->kit_even && !work->standing)
        status = even_cards(work);
    if (!status) status = carry_relief(work);
    if (!status) status = lay_solid(work);
    if (!status && work->job->stock_only) status = lay_within_stock(work);
    if (!status && work->job->stock_only) status = fit_to_shelf(work);
    if (!status) status = join_standing(work);
    if (!status) say_carried(work);
    if (!status && work->job->hollow) say_saving(work);
    if (!status)
        status = bond_init(&work->bond, &work->mural.solid, &work->panels, &work->laid,
                           work->threads, work->fault);
    if (status) return status;
    tell_evenness(work);
    return count_parts(work, work->mural.standing);
}

/* ---- figures ---- */

static Status perceive(Work *work, const Image *image, double times, Perceived *out)
{
    const Viewpoint eye = viewpoint(work, times);
    EyeResult seen;
    const Status status = eye_measure(image, &work->palette, &work->grid, &eye, work->threads,
                                      &seen, NULL, work->fault);
    if (!status) *out = (Perceived){seen.mean, seen.p95};
    return status;
}

Status work_measure(Work *work)
{
    Mural *m = &work->mural;
    Measures *v = &m->measures;
    Status status =
        measure_cells(&work->image, &work->palette, &work->grid, work->threads, v, work->fault);
    if (!status) status = perceive(work, &work->image, 1, &v->perceived);
    if (!status) status = perceive(work, &work->image, 0.5, &v->near);
    if (!status) status = perceive(work, &work->image, 2, &v->far);
    if (!status) status = fit_tone(work);
    if (!status) status = perceive(work, &work->fitted, 1, &v->fitted);
    if (status) return status;
    work->load = memory_create((size_t)work->panels.count, sizeof *work->load);
    if (!work->load)
        return memory_fault(work->fault, (size_t)work->panels.count, sizeof *work->load);
    measure_panels(&m->solid, &work->panels, &work->laid, &work->sizes, work->load);
    statics_panels(m, work->job->fixings, work->load);
    m->load = work->load;
    v->mass_kg = work->parts.mass_g / 1000;
    v->price = work->parts.price;
    v->hours = (double)(work->laid.count - work->built.count) / work->job->pace;
    double laps = 0;
    for (int i = 0; i < work->panels.count; i++) {
        const PanelBond *bond = &work->bond.panel[i];
        v->pieces += bond->pieces;
        v->unsupported += bond->unsupported;
        v->weak += bond->weak;
        laps += bond->quarter_lap * (double)work->load[i].bricks;
        if (bond->longest_straight_joint > v->longest_straight_joint)
            v->longest_straight_joint = bond->longest_straight_joint;
    }
    v->quarter_lap = laps / (double)work->laid.count;
    m->lower_bound = work->laying.lower_bound;
    m->lower_cost = work->laying.lower_cost;
    double cost[SIZES_MOST];
    v->laying_cost = lay_cost_of(&work->laid, brick_costs(work, cost));
    cautions_find(&work->cautions, m);
    m->cautions = work->cautions.count;
    for (int i = 0; i < m->cautions; i++) m->caution[i] = work->cautions.text[i];
    return STATUS_OK;
}

/* ---- the whole ---- */

static void describe(Work *work)
{
    const Job *job = work->job;
    const bool wall = job->build == BUILD_WALL;
    work->threads = job->threads ? job->threads : bands_processors();
    work->mural = (Mural){.job = job,
                          .threads = work->threads,
                          .reference = &work->reference,
                          .palette = &work->palette,
                          .sizes = &work->sizes,
                          .image = &work->image,
                          .grid = &work->grid,
                          .solid = {.build = (Build)job->build, .base = wall ? job->thickness : 1},
                          .panels = &work->panels,
                          .carried = &work->carried,
                          .laid = &work->laid,
                          .parts = &work->parts,
                          .stock = &work->stock,
                          .bond = &work->bond,
                          .cell_width_mm = job->pitch,
                          .cell_height_mm = wall ? job->brick_height : job->pitch,
                          .step_mm = wall ? job->pitch : job->brick_height};
}

Status work_create(Work **work_out, const Job *job, const Voice *voice, Fault *fault)
{
    Work *work = memory_create(1, sizeof *work);
    if (!work) return memory_fault(fault, 1, sizeof *work);
    *work = (Work){.job = job, .voice = voice, .fault = fault};
    describe(work);
    *work_out = work;
    return STATUS_OK;
}

void work_share_look(Work *work, const Work *seen)
{
    work->image = seen->image;
    work->image_lent = true;
    work->frame = seen->frame;
    work->facts = seen->facts;
    work->reference = seen->reference;
}

bool work_holds(const Work *work)
{
    const Measures *v = &work->mural.measures;
    return v->unsupported == 0 && v->pieces == work->panels.count;
}

void work_free(Work *work)
{
    if (!work) return;
    difference_clear(&work->difference);
    parts_clear(&work->parts);
    bond_clear(&work->bond);
    hollow_clear(&work->hollow, &work->mural.solid);
    laid_clear(&work->laid);
    laid_clear(&work->built);
    memory_free(work->stands);
    memory_free(work->load);
    carried_clear(&work->carried);
    memory_free(work->asked);
    panels_clear(&work->panels);
    grid_clear(&work->grid);
    image_clear(&work->fitted);
    if (!work->image_lent) image_clear(&work->image);
    stock_clear(&work->stock);
    memory_free(work);
}
