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
#include "tone.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

Status work_interrupted(Work *work)
{
    return fault_set(work->fault, STATUS_INTERRUPTED,
                     "plan: stopped from outside, nothing was changed; run it again");
}

/* ---- what the studio has ---- */

Status work_take_in(Work *work)
{
    const Job *job = work->job;
    Status status = *job->palette
                        ? palette_read(&work->palette, job->palette, work->voice, work->fault)
                        : palette_default(&work->palette, work->fault);
    if (!status && !*job->bricks) sizes_default(&work->sizes, job->pitch, job->brick_height);
    if (!status && *job->bricks)
        status = sizes_read(&work->sizes, job->bricks, job->pitch, job->brick_height, work->voice,
                            work->fault);
    if (!status && *job->stock)
        status = stock_read(&work->stock, job->stock, &work->palette, &work->sizes, work->voice,
                            work->fault);
    if (!status && job->stock_only && !*job->stock)
        status = fault_set(work->fault, STATUS_USAGE,
                           "--stock-only: there is no stock file; give one with --stock");
    shelf_units(&work->stock, &work->sizes, work->limit);
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
    double columns = work->grid.colour ? work->grid.columns : asked_columns(work);
    double rows = work->grid.colour ? work->grid.rows : asked_rows(work);
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
    if (!status) tell_reference(work);
    return status;
}

/* ---- a colour a cell ---- */

Status work_read_cells(Work *work)
{
    const Job *job = work->job;
    if (!*job->cells) return STATUS_OK;
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

static Status match_colours(Work *work)
{
    Match *match;
    Status status = match_create(&match, &work->palette, work->fault);
    if (!status)
        status =
            match_image(match, work->target, work->threads, &work->grid, work->voice, work->fault);
    match_free(match);
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
    options.threads = work->threads;
    LookReport report;
    return look_search(work->target, &work->palette, &options, &work->grid, &report, work->voice,
                       work->fault);
}

static Status mix_colours(Work *work)
{
    switch ((Dither)work->job->dither) {
    case DITHER_DISTANCE:
        return search_colours(work);
    case DITHER_NONE:
        return match_colours(work);
    case DITHER_FLOYD_STEINBERG:
        return dither_floyd_steinberg(&work->palette, work->target, &dither_defaults, work->threads,
                                      &work->grid, work->voice, work->fault);
    case DITHER_BLUE_NOISE:
        return dither_blue_noise(&work->palette, work->target, &dither_defaults, work->threads,
                                 &work->grid, work->voice, work->fault);
    }
    return fault_set(work->fault, STATUS_INTERNAL, "plan: dither %d; report this",
                     work->job->dither);
}

static size_t cells_of(const Grid *grid) { return (size_t)grid->columns * (size_t)grid->rows; }

static void count_cells(const Grid *grid, long count_out[PALETTE_MOST])
{
    memset(count_out, 0, PALETTE_MOST * sizeof *count_out);
    for (size_t i = 0; i < cells_of(grid); i++) count_out[grid->colour[i]]++;
}

/* The first colour that takes more cells than its limit, or -1. */
static int beyond_limit(const Work *work, long *cells_out)
{
    long count[PALETTE_MOST];
    count_cells(&work->grid, count);
    for (int c = 0; c < work->palette.count; c++) {
        *cells_out = count[c];
        if (count[c] > work->limit[c]) return c;
    }
    return -1;
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
        status = ration_costs(plain ? work->target : &mixed, &work->palette, work->threads, &cost,
                              work->fault);
    const Ration ration = {cells_of(&work->grid), work->palette.count, cost, work->limit};
    if (!status) status = ration_solve(&ration, work->grid.colour, NULL, work->voice, work->fault);
    memory_free(cost);
    image_clear(&mixed);
    return status;
}

static Status colour_cells(Work *work)
{
    long cells;
    const Status status = mix_colours(work);
    if (status || !work->job->stock_only || beyond_limit(work, &cells) < 0) return status;
    return ration_colours(work);
}

/* The user's own cells are not changed, not even for lack of bricks. */
static Status check_cells(Work *work)
{
    long cells;
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
    return tone_fit(&work->image, &work->palette, work->threads, &work->fitted, work->fault);
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

/* Steps follow the edges of the bricks' colours, unless these are mixed or searched for:
 * then those of the picture. */
Status work_raise(Work *work)
{
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

/* Takes down what no brick of a wall could carry. */
static Status carry_relief(Work *work)
{
    const Status status =
        carry_steps(&work->grid, work->mural.solid.build, work->mural.solid.base, &work->sizes,
                    &work->panels, &work->carried, work->voice, work->fault);
    if (!status && work->carried.count)
        voice_note(work->voice,
                   "relief: %zu cells stand %ld steps lower in all than asked, since nothing below "
                   "could carry them; plan.json lists them",
                   work->carried.count, work->carried.steps);
    return status;
}

/* ---- bricks ---- */

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
    return panels_init(&work->panels, &work->mural.solid, &work->sizes, &limits, work->fault);
}

/* The colour whose bricks cost least for their volume, where the stock tells prices. */
static int cheapest_colour(const Work *work)
{
    double least = INFINITY;
    int colour = 0;
    for (size_t i = 0; i < work->stock.count; i++) {
        const StockLine *line = &work->stock.line[i];
        const Size *size = &work->sizes.size[line->size];
        const double price = line->price / (size->width * size->length);
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
    work->fill = *id ? palette_find(&work->palette, id) : cheapest_colour(work);
    if (work->fill >= 0) return STATUS_OK;
    return fault_set(work->fault, STATUS_USAGE,
                     "--backing: '%s' is no colour of the palette; give one of its ids", id);
}

static Status lay_at(Work *work, const double *cost)
{
    LayOptions options = LAY_OPTIONS_DEFAULT;
    options.fill = work->fill;
    options.threads = work->threads;
    options.effort = work->job->effort;
    options.cost = cost;
    laid_clear(&work->laid);
    Status status = lay(&work->mural.solid, &work->sizes, &work->panels, &options, &work->laid,
                        &work->laying, work->voice, work->fault);
    if (!status && work->stock.count)
        status = shelf_colour_backing(&work->laid, &work->palette, &work->sizes, &work->stock,
                                      work->fault);
    return status;
}

static Status count_parts(Work *work)
{
    parts_clear(&work->parts);
    return parts_init(&work->parts, &work->laid, &work->palette, &work->sizes, &work->stock,
                      work->job->spare, work->fault);
}

/* Lays once more, sparing the sizes that lacked, and keeps the laying that lacks less. */
static Status lay_sparing(Work *work)
{
    double cost[SIZES_MOST];
    Status status = count_parts(work);
    if (status || !shelf_costs(&work->parts, &work->sizes, cost)) return status;
    const long lacking = shelf_lacking(&work->parts);
    const double bound = work->laying.lower_bound;
    Laid first = work->laid;
    work->laid = (Laid){0};
    status = lay_at(work, cost);
    if (!status) status = count_parts(work);
    work->laying.lower_bound = bound; /* of bricks, whatever they cost */
    if (!status && shelf_lacking(&work->parts) < lacking) {
        laid_clear(&first);
        return STATUS_OK;
    }
    laid_clear(&work->laid);
    work->laid = first;
    return status;
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

static Status lay_solid(Work *work)
{
    double cost[SIZES_MOST];
    const Status status = lay_at(work, brick_costs(work, cost));
    return status || !work->stock.count ? status : lay_sparing(work);
}

/* Lowers the limits of colours that the laying overdraws, headers and sides that show
 * counted; -1 where none is, else the first of them. */
static int lower_limits(Work *work, long *taken_out, long *units_out)
{
    long units[PALETTE_MOST], taken[PALETTE_MOST], cells[PALETTE_MOST];
    int first = -1;
    shelf_units(&work->stock, &work->sizes, units);
    shelf_units_taken(&work->laid, taken);
    count_cells(&work->grid, cells);
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
static double bound_by_volume(const Work *work)
{
    long units = 0, largest = 1;
    for (size_t i = 0; i < work->laid.count; i++) {
        const Brick *b = &work->laid.brick[i];
        units += (long)b->columns * b->rows * b->tiers;
    }
    for (int i = 0; i < work->sizes.count; i++) {
        const long area = (long)work->sizes.size[i].width * work->sizes.size[i].length;
        if (area > largest) largest = area;
    }
    return ceil((double)units / (double)largest);
}

static Status fit_to_shelf(Work *work)
{
    ShelfReport report;
    const Status status = shelf_fit(&work->mural.solid, &work->grid, work->target, &work->palette,
                                    &work->sizes, &work->stock, &work->laid, &report, work->fault);
    if (status) return status;
    if (report.recoloured) work->laying.lower_bound = bound_by_volume(work);
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

Status work_lay(Work *work)
{
    Status status = find_fill(work);
    if (!status) status = cut_panels(work);
    if (!status) status = carry_relief(work);
    if (!status) status = lay_solid(work);
    if (!status && work->job->stock_only) status = lay_within_stock(work);
    if (!status && work->job->stock_only) status = fit_to_shelf(work);
    if (!status)
        status = bond_init(&work->bond, &work->mural.solid, &work->panels, &work->laid,
                           work->threads, work->fault);
    return status ? status : count_parts(work);
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
    v->hours = (double)work->laid.count / work->job->pace;
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
    parts_clear(&work->parts);
    bond_clear(&work->bond);
    laid_clear(&work->laid);
    memory_free(work->load);
    carried_clear(&work->carried);
    panels_clear(&work->panels);
    grid_clear(&work->grid);
    image_clear(&work->fitted);
    if (!work->image_lent) image_clear(&work->image);
    stock_clear(&work->stock);
    memory_free(work);
}
