#include "plan/work.h"

#include "base/bands.h"
#include "base/memory.h"
#include "base/text.h"
#include "bricks/lay.h"
#include "cells/tone.h"
#include "eye/eye.h"
#include "figures/measure.h"
#include "figures/statics.h"
#include "output/cells_png.h"
#include "picture/sample.h"
#include "plan/shelf.h"

#include <math.h>
#include <stdio.h>
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
    const BuiltPart *standing = work->standing;
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
        built_part_note_values(standing, &work->palette, work->voice);
        status = built_part_add_colours(standing, &work->palette, work->fault);
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
        status = built_part_bricks(work->standing, &work->palette, &work->sizes, &work->built,
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
    const EarlierPlan *earlier = work->standing ? work->standing->earlier : NULL;
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
    const EarlierPlan *earlier = work->standing ? work->standing->earlier : NULL;
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
        status = sample_image(
            picture_source(picture),
            &(Sampling){work->frame.crop, work->frame.columns, work->frame.rows, work->threads},
            &work->image, work->voice, work->fault);
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

Status work_cut_panels(Work *work)
{
    PanelLimits limits = {.mass_kg = work->job->panel_mass};
    work->mural.solid.grid = &work->grid;
    int columns = 0, rows = 0; /* of a kit's cards, which are panels */
    Status status = job_panel(work->job, &limits.columns, &limits.rows, work->fault);
    if (!status) status = job_kit(work->job, &columns, &rows, work->fault);
    if (status) return status;
    if (columns) limits.columns = columns;
    if (rows) limits.rows = rows;
    if (work->standing && columns && work->job->kit_even) /* cut by a laying that is no more */
        return panels_copy(&work->panels, &work->standing->earlier->panels, work->fault);
    status = panels_init(&work->panels, &work->mural.solid, &work->sizes, &limits, work->fault);
    return status ? status : check_cut(work);
}

/* What a brick of each size costs to buy and to lay, where the job favours cost and gives
 * a price or a rate; else NULL, for every brick alike. */
const double *work_brick_costs(const Work *work, double cost_out[SIZES_MOST])
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

/* The cells of the earlier plan, which were the user's own. */
static Status keep_cells(Work *work)
{
    const Grid *from = &work->standing->earlier->grid;
    const Status status = grid_init(&work->grid, from->columns, from->rows, false, work->fault);
    if (!status) memcpy(work->grid.colour, from->colour, grid_cells(from));
    return status;
}

Status work_read_cells(Work *work)
{
    const Job *job = work->job;
    if (!*job->cells) return STATUS_OK;
    if (work->standing && work->standing->cells_kept) return keep_cells(work);
    return cells_png_read(&work->grid, job->cells, &work->palette,
                          (int)fmin(asked_columns(work), GRID_MOST),
                          (int)fmin(asked_rows(work), GRID_MOST), work->fault);
}

/* The eye at a multiple of the job's distance. */
Viewpoint work_viewpoint(const Work *work, double times)
{
    const Mural *m = &work->mural;
    return (Viewpoint){m->cell_width_mm, m->cell_height_mm, times * work->job->distance};
}

/* ---- steps a cell ---- */

/* A mural that is under way keeps its relief. */
static Status keep_steps(Work *work)
{
    const Grid *from = &work->standing->earlier->grid;
    if (!from->steps) return STATUS_OK;
    const size_t cells = grid_cells(from);
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
    const size_t cells = grid_cells(&work->grid);
    uint8_t *steps = memory_create(cells, 1);
    if (!steps) return memory_fault(work->fault, cells, 1);
    Image face = {0};
    const bool plain = *work->job->cells || work->job->dither == DITHER_NONE;
    if (plain) status = eye_face(&work->palette, &work->grid, &face, work->fault);
    if (!status)
        status = depth_steps(work->job,
                             &(DepthInput){.frame = &work->frame,
                                           .picture = &work->image,
                                           .guide = plain ? &face : &work->image,
                                           .threads = work->threads},
                             steps, work->voice, work->fault);
    image_clear(&face);
    if (status)
        memory_free(steps);
    else
        work->grid.steps = steps;
    return status;
}

/* ---- figures ---- */

Status work_fit_tone(Work *work)
{
    if (work->fitted.xyz) return STATUS_OK;
    return tone_fit(&work->image, &work->offered, work->threads, &work->fitted, work->fault);
}

/* What the figures of the look are taken from. */
typedef struct Sides {
    Image bricks;
    EyeSide face, image, fitted;
} Sides;

/* From the distance, the image as it is and as it fits the palette, against one view of the
 * face; from other places the image as it is. */
static Status perceive(const Work *work, const Sides *s, double times, Perceived *image,
                       Perceived *fitted)
{
    const Viewpoint eye = work_viewpoint(work, times);
    const EyeSide *const reference[EYE_REFERENCES] = {&s->image, &s->fitted};
    EyeResult seen[EYE_REFERENCES];
    const Status status = eye_compare_sides(
        reference, fitted ? 2 : 1, &s->face,
        &(EyeOptions){.viewpoint = eye, .threads = work->threads}, seen, work->fault);
    if (status) return status;
    *image = (Perceived){seen[0].mean, seen[0].p95};
    if (fitted) *fitted = (Perceived){seen[1].mean, seen[1].p95};
    return STATUS_OK;
}

static Status measure_sides(Work *work, Sides *s)
{
    const int threads = work->threads;
    Measures *v = &work->mural.measures;
    Status status = eye_face(&work->palette, &work->grid, &s->bricks, work->fault);
    if (!status) status = measure_cells(&work->image, &s->bricks, threads, v, work->fault);
    if (!status) status = work_fit_tone(work);
    if (!status) status = eye_side_init(&s->face, &s->bricks, threads, work->fault);
    if (!status) status = eye_side_init(&s->image, &work->image, threads, work->fault);
    if (!status) status = eye_side_init(&s->fitted, &work->fitted, threads, work->fault);
    if (!status) status = perceive(work, s, 1, &v->perceived, &v->fitted);
    if (!status) status = perceive(work, s, 0.5, &v->near, NULL);
    if (!status) status = perceive(work, s, 2, &v->far, NULL);
    return status;
}

static Status measure_look(Work *work)
{
    Sides sides = {0};
    const Status status = measure_sides(work, &sides);
    eye_side_clear(&sides.face);
    eye_side_clear(&sides.image);
    eye_side_clear(&sides.fitted);
    image_clear(&sides.bricks);
    return status;
}

Status work_measure(Work *work)
{
    Mural *m = &work->mural;
    Measures *v = &m->measures;
    const Status status = measure_look(work);
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
    v->laying_cost = lay_cost_of(&work->laid, work_brick_costs(work, cost));
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
                          .step_changes = &work->step_changes,
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
    step_changes_clear(&work->step_changes);
    memory_free(work->asked);
    panels_clear(&work->panels);
    grid_clear(&work->grid);
    image_clear(&work->fitted);
    if (!work->image_lent) image_clear(&work->image);
    stock_clear(&work->stock);
    memory_free(work);
}
