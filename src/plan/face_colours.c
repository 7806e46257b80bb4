/* Cells that stand have their colours before the others are chosen, since what is seen beside
 * them counts, and get them once more afterwards, since not every way of choosing leaves them.
 * Where only the stock may be used, a choice that takes too much of a colour is rationed at
 * the least difference in all. */
#include "plan/face_colours.h"

#include "base/memory.h"
#include "cells/dither.h"
#include "cells/look.h"
#include "cells/nearest_face.h"
#include "cells/transport.h"
#include "plan/cut_panels.h"
#include "plan/trial_lay.h"
#include "relief/depth.h"

#include <string.h>

/* A face whose colours are being chosen. */
typedef struct Choice {
    const Brief *brief;
    const Studio *studio;
    const Image *target;
    const CellRules *rules;
    const long *limit;       /* cells of each colour; NULL: none has one */
    long open[PALETTE_MOST]; /* the same beside those that have a pin */
    Grid *face;
    Fault *fault;
} Choice;

/* What the choice of the colours is not free to do. */
static Keep kept(const Choice *c)
{
    return cell_rules_keep(c->rules, c->brief, c->studio->offered.count);
}

static Status match_cells(const Choice *c)
{
    const NearestTask task = {c->target, &c->studio->offered, kept(c), c->brief->threads,
                              c->brief->voice};
    return nearest_face(&task, c->face, c->fault);
}

/* ---- the search ---- */

/* Whether bricks can be laid on trial: a relief is not known yet. */
static Status can_try(const Choice *c, bool *can_out)
{
    const EarlierPlan *earlier = brief_earlier(c->brief);
    const Status status = depth_wanted(c->brief->job, can_out, c->fault);
    *can_out = !*can_out && !(earlier && earlier->grid.steps);
    return status;
}

static LookOptions options_of(const Choice *c)
{
    const Job *job = c->brief->job;
    LookOptions options = LOOK_OPTIONS_DEFAULT;
    options.viewpoint = brief_viewpoint(c->brief);
    options.build = (Build)job->build;
    options.thrift = job->thrift;
    options.detail = job->detail;
    options.calm = job->calm;
    options.limit = c->limit ? c->open : NULL;
    options.keep = kept(c);
    options.weights = cell_rules_weights(c->rules);
    options.threads = c->brief->threads;
    options.voice = c->brief->voice;
    return options;
}

static Status search(const Choice *c, const LookLayer *layer)
{
    LookOptions options = options_of(c);
    LookReport report;
    options.layer = layer;
    return look_search(c->target, &c->studio->palette, &options, c->face, &report, c->fault);
}

/* Searches while bricks are laid on trial, in the panels that a flat mural has. */
static Status search_laying(const Choice *c)
{
    const Job *job = c->brief->job;
    const Sizes *sizes = &c->studio->sizes;
    const Solid solid = brief_solid(c->brief, c->face);
    double cost[SIZES_MOST];
    const LayOptions laying = {.threads = c->brief->threads, .cost = brick_costs(job, sizes, cost)};
    TrialLay trial;
    Panels panels;
    Status status = cut_panels(&panels, c->brief, &solid, sizes, c->fault);
    if (!status) {
        trial_lay_init(&trial, &solid, sizes, &panels, &laying, c->brief->voice);
        const LookLayer layer = trial_lay_layer(&trial);
        status = search(c, &layer);
    }
    panels_clear(&panels);
    return status;
}

static Status search_for_eye(const Choice *c)
{
    bool can;
    const Status status = can_try(c, &can);
    if (status) return status;
    return can ? search_laying(c) : search(c, NULL);
}

static Status mix(const Choice *c)
{
    DitherOptions options = dither_defaults;
    options.keep = kept(c);
    options.threads = c->brief->threads;
    options.voice = c->brief->voice;
    switch ((Dither)c->brief->job->dither) {
    case DITHER_DISTANCE:
        return search_for_eye(c);
    case DITHER_NONE:
        return match_cells(c);
    case DITHER_FLOYD_STEINBERG:
        return dither_floyd_steinberg(&c->studio->palette, c->target, &options, c->face, c->fault);
    case DITHER_BLUE_NOISE:
        return dither_blue_noise(&c->studio->palette, c->target, &options, c->face, c->fault);
    }
    return fault_set(c->fault, STATUS_INTERNAL, "plan: dither %d; report this",
                     c->brief->job->dither);
}

/* ---- within the stock ---- */

void face_colours_count(const Grid *face, const Brief *brief, long count_out[PALETTE_MOST])
{
    memset(count_out, 0, PALETTE_MOST * sizeof *count_out);
    for (size_t i = 0; i < grid_cells(face); i++)
        if (!brief_stands(brief, i)) count_out[face->colour[i]]++;
}

/* The first colour that takes more cells than its limit, or -1. */
static int beyond_limit(const Choice *c, long *cells_out)
{
    long count[PALETTE_MOST];
    face_colours_count(c->face, c->brief, count);
    for (int i = 0; c->limit && i < c->studio->palette.count; i++) {
        *cells_out = count[i];
        if (count[i] > c->limit[i]) return i;
    }
    return -1;
}

/* Gives the cells that keep no colour those that cost least within the limits; their costs move
 * to the front. */
static Status ration_cells(const Choice *c, uint16_t *cost)
{
    const size_t cells = grid_cells(c->face), colours = (size_t)c->studio->offered.count;
    const bool *keeps = kept(c).cell;
    uint8_t *chosen = memory_create(cells, 1), *next = chosen;
    if (!chosen) return memory_fault(c->fault, cells, 1);
    Transport problem = {0, c->studio->offered.count, cost, c->open, NULL};
    for (size_t i = 0; i < cells; i++)
        if (!keeps || !keeps[i])
            memmove(cost + problem.cells++ * colours, cost + i * colours, colours * sizeof *cost);
    const Status status = transport_solve(&problem, chosen, NULL, c->brief->voice, c->fault);
    for (size_t i = 0; !status && i < cells; i++)
        if (!keeps || !keeps[i]) c->face->colour[i] = *next++;
    memory_free(chosen);
    return status;
}

/* Takes colours back from cells until the limits hold, at the least difference in all:
 * to the target, or to what was mixed for it. */
static Status ration(const Choice *c)
{
    Image mixed = {0};
    uint16_t *cost = NULL;
    const bool plain = c->brief->job->dither == DITHER_NONE;
    Status status = plain ? STATUS_OK : eye_face(&c->studio->palette, c->face, &mixed, c->fault);
    if (!status)
        status = transport_costs(plain ? c->target : &mixed, &c->studio->offered, c->brief->threads,
                                 c->brief->voice, &cost, c->fault);
    if (!status) cell_rules_cost(c->rules, c->studio->offered.count, cost);
    if (!status) status = ration_cells(c, cost);
    memory_free(cost);
    image_clear(&mixed);
    return status;
}

/* ---- the whole ---- */

/* Gives the cells that stand their colours; returns how many of them had another. */
static long colour_standing(const Choice *c)
{
    const BuiltPart *standing = c->brief->standing;
    return standing ? built_part_colour(standing, &c->studio->palette, c->face) : 0;
}

/* Cells that keep their colour have it. */
static void colour_kept(const Choice *c)
{
    cell_rules_pin(c->rules, c->face);
    colour_standing(c);
}

static Status choose(Choice *c)
{
    long cells;
    Status status = cell_rules_check(c->rules, c->brief, &c->studio->offered, c->limit, c->fault);
    if (status) return status;
    for (int i = 0; c->limit && i < c->studio->palette.count; i++)
        c->open[i] = c->limit[i] - (c->rules && c->limit[i] >= 0 ? c->rules->pinned[i] : 0);
    colour_kept(c);
    status = mix(c);
    colour_kept(c);
    return status || beyond_limit(c, &cells) < 0 ? status : ration(c);
}

/* The colours that only what stands has are there to be read, for its own cells. */
static Status check_offered(const Choice *c)
{
    const size_t columns = (size_t)c->face->columns;
    for (size_t i = 0; i < grid_cells(c->face); i++) {
        const int colour = c->face->colour[i];
        if (colour < c->studio->offered.count || brief_stands(c->brief, i)) continue;
        return fault_set(c->fault, STATUS_DATA,
                         "%s: column %zu, row %zu: colour %s is in what stands alone and to be had "
                         "no more; paint another there",
                         c->brief->job->cells, i % columns + 1, i / columns + 1,
                         c->studio->palette.colour[colour].id);
    }
    return STATUS_OK;
}

/* The user's own cells are not changed, not even for lack of bricks; but what stands
 * stands. */
static Status take_own(const Choice *c, const Grid *own)
{
    const char *path = c->brief->job->cells;
    long cells;
    memcpy(c->face->colour, own->colour, grid_cells(own));
    const long others = colour_standing(c);
    const Status status = check_offered(c);
    if (status) return status;
    if (others)
        voice_note(c->brief->voice, "%s: %ld cells stand already in another colour, and keep it",
                   path, others);
    const int i = beyond_limit(c, &cells);
    if (i < 0) return STATUS_OK;
    return fault_set(c->fault, STATUS_DATA,
                     "%s: colour %s takes %ld cells, the stock has %ld units; use less of it, or "
                     "leave out --stock-only",
                     path, c->studio->palette.colour[i].id, cells, c->limit[i]);
}

static Choice choice_of(Grid *face, const ColourTask *task, const long *limit, Fault *fault)
{
    return (Choice){.brief = task->brief,
                    .studio = task->studio,
                    .target = task->target,
                    .rules = task->rules,
                    .limit = task->brief->job->stock_only ? limit : NULL,
                    .face = face,
                    .fault = fault};
}

Status face_colours_init(Grid *face_out, const ColourTask *task, const Grid *own, Fault *fault)
{
    const Image *target = task->target;
    Choice choice = choice_of(face_out, task, task->studio->units, fault);
    const Status status = grid_init(face_out, target->columns, target->rows, false, fault);
    if (status) return status;
    return own->colour ? take_own(&choice, own) : choose(&choice);
}

static Status sketch_for_eye(const Choice *c, const SketchTask *task)
{
    const LookOptions options = options_of(c);
    const size_t cells = grid_cells(c->face);
    bool *changed = task->before ? memory_create(cells, sizeof *changed) : NULL;
    if (task->before && !changed) return memory_fault(c->fault, cells, sizeof *changed);
    if (changed) cell_rules_compare(c->rules, task->before_rules, cells, changed);
    const LookBefore before = {task->before ? task->before->colour : NULL, changed};
    const Status status =
        look_sketch(c->target, &c->studio->palette, &options, &before, c->face, c->fault);
    memory_free(changed);
    return status;
}

/* What is not searched for is there as soon as any sketch of it. */
static Status sketch(const Choice *c, const SketchTask *task)
{
    Status status = cell_rules_check(c->rules, c->brief, &c->studio->offered, c->limit, c->fault);
    if (status) return status;
    colour_kept(c);
    status = c->brief->job->dither == DITHER_DISTANCE ? sketch_for_eye(c, task) : mix(c);
    colour_kept(c);
    return status;
}

Status face_colours_sketch(Grid *face_out, const SketchTask *task, const Grid *own, Fault *fault)
{
    const Image *target = task->colours.target;
    const Choice choice = choice_of(face_out, &task->colours, NULL, fault);
    const Status status = grid_init(face_out, target->columns, target->rows, false, fault);
    if (status) return status;
    return own->colour ? take_own(&choice, own) : sketch(&choice, task);
}

Status face_colours_choose(Grid *face, const ColourTask *task, const long limit[PALETTE_MOST],
                           Fault *fault)
{
    Choice choice = choice_of(face, task, limit, fault);
    return choose(&choice);
}
