/* The data's path: picture -> image of cells -> colour and steps a cell -> solid ->
 * panels -> bricks -> bond, parts, measures -> files. Each step is a function below;
 * plan_run calls them in that order. */
#include "plan.h"

#include "backing.h"
#include "bands.h"
#include "bond.h"
#include "book.h"
#include "carry.h"
#include "cautions.h"
#include "cells.h"
#include "depth.h"
#include "digest.h"
#include "dither.h"
#include "eye.h"
#include "face.h"
#include "folder.h"
#include "lay.h"
#include "light.h"
#include "look.h"
#include "match.h"
#include "measure.h"
#include "memory.h"
#include "model.h"
#include "mural.h"
#include "picture.h"
#include "record.h"
#include "sample.h"
#include "statics.h"
#include "table.h"
#include "tone.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* All that a run owns; Mural borrows from it. */
typedef struct Run {
    const Job *job;
    const Voice *voice;
    Fault *fault;
    int threads;
    Palette palette;
    Sizes sizes;
    Stock stock;
    PictureFacts facts;
    Reference reference;
    Image image;         /* the cells as sampled */
    Image fitted;        /* the same within what the palette can show */
    const Image *target; /* which of them the colours are chosen for */
    DepthFrame frame;
    Grid grid;
    Panels panels;
    Carried carried;
    PanelLoad *load;
    Laid laid;
    LayReport laying;
    Bond bond;
    Parts parts;
    Cautions cautions;
    Mural mural;
} Run;

static Status interrupted(Run *run)
{
    return fault_set(run->fault, STATUS_INTERRUPTED,
                     "plan: stopped from outside, nothing was changed; run it again");
}

/* ---- what the studio has ---- */

static Status take_in(Run *run)
{
    const Job *job = run->job;
    Status status = *job->palette
                        ? palette_read(&run->palette, job->palette, run->voice, run->fault)
                        : palette_default(&run->palette, run->fault);
    if (!status && !*job->bricks) sizes_default(&run->sizes, job->pitch, job->brick_height);
    if (!status && *job->bricks)
        status = sizes_read(&run->sizes, job->bricks, job->pitch, job->brick_height, run->voice,
                            run->fault);
    if (!status && *job->stock)
        status =
            stock_read(&run->stock, job->stock, &run->palette, &run->sizes, run->voice, run->fault);
    return status;
}

/* ---- true size ---- */

static double whole_cells(double length, double cell) { return floor(length / cell + 0.5); }

/* What the job says of the grid, 0 where it does not. */
static double asked_columns(const Run *run)
{
    const Job *job = run->job;
    return job->width > 0 ? fmax(1, whole_cells(job->width, run->mural.cell_width_mm))
                          : job->columns;
}
static double asked_rows(const Run *run)
{
    const Job *job = run->job;
    return job->height > 0 ? fmax(1, whole_cells(job->height, run->mural.cell_height_mm))
                           : job->rows;
}

/* The part that the user cut out, or the whole. */
static Status frame_cut(Run *run, const Source *source, Crop *crop)
{
    long cut[4];
    const Status status = job_crop(run->job, cut, run->fault);
    *crop = crop_all(source);
    if (status || !cut[2]) return status;
    const Crop asked = {(double)cut[0], (double)cut[1], (double)cut[2], (double)cut[3]};
    if (asked.x + asked.width > crop->width || asked.y + asked.height > crop->height)
        return fault_set(run->fault, STATUS_USAGE,
                         "--crop: %s reaches outside the picture of %.0f x %.0f; crop less",
                         run->job->crop, crop->width, crop->height);
    *crop = asked;
    return STATUS_OK;
}

/* The grid, and the part of the upright picture that it shows. */
static Status frame_fit(Run *run, const Source *source)
{
    const Mural *m = &run->mural;
    DepthFrame *frame = &run->frame;
    Crop *crop = &frame->crop;
    const Status status = frame_cut(run, source, &frame->cut);
    if (status) return status;
    *crop = frame->cut;
    frame->width = crop_all(source).width;
    frame->height = crop_all(source).height;
    double columns = run->grid.colour ? run->grid.columns : asked_columns(run);
    double rows = run->grid.colour ? run->grid.rows : asked_rows(run);
    const double cell = m->cell_height_mm / m->cell_width_mm;
    if (columns > 0 && rows > 0) { /* keep the middle that has the mural's aspect */
        const double aspect = columns / (rows * cell);
        const double width = fmin(crop->width, crop->height * aspect);
        const double height = fmin(crop->height, crop->width / aspect);
        crop->x += (crop->width - width) / 2;
        crop->y += (crop->height - height) / 2;
        crop->width = width;
        crop->height = height;
    } else if (columns > 0) {
        rows = fmax(1, whole_cells(columns * crop->height / crop->width, cell));
    } else {
        columns = fmax(1, whole_cells(rows * cell * crop->width / crop->height, 1));
    }
    if (!(columns <= GRID_MOST && rows <= GRID_MOST))
        return fault_set(run->fault, STATUS_USAGE,
                         "plan: %.0f x %.0f cells; choose a size of at most %d each way", columns,
                         rows, GRID_MOST);
    frame->columns = (int)columns;
    frame->rows = (int)rows;
    return STATUS_OK;
}

/* ---- the picture ---- */

static Status look_at_reference(Run *run)
{
    const Job *job = run->job;
    PictureOptions options = PICTURE_OPTIONS_DEFAULT;
    options.limit_pixels = job->limit * 1e6;
    Status status = job_ground(job, options.ground, run->fault);
    Picture *picture = NULL;
    if (!status) status = picture_open(&picture, job->reference, &options, run->voice, run->fault);
    if (!status) status = frame_fit(run, picture_source(picture));
    if (!status)
        status = sample_image(picture_source(picture), &run->frame.crop, run->frame.columns,
                              run->frame.rows, run->threads, &run->image, run->voice, run->fault);
    if (!status) status = picture_finish(picture, &run->facts, run->fault);
    picture_close(picture);
    return status;
}

/* The file's name without its folder, as plan.json tells it. */
static Status tell_reference(Run *run)
{
    Reference *r = &run->reference;
    const char *slash = strrchr(run->job->reference, '/');
    snprintf(r->file, sizeof r->file, "%.255s", slash ? slash + 1 : run->job->reference);
    snprintf(r->sha256, sizeof r->sha256, "%s", run->facts.sha256);
    snprintf(r->profile, sizeof r->profile, "%s", run->facts.profile);
    r->width = run->facts.width;
    r->height = run->facts.height;
    return STATUS_OK;
}

/* ---- a colour a cell ---- */

static Status read_cells(Run *run)
{
    const Job *job = run->job;
    if (!*job->cells) return STATUS_OK;
    return cells_read(&run->grid, job->cells, &run->palette,
                      (int)fmin(asked_columns(run), GRID_MOST),
                      (int)fmin(asked_rows(run), GRID_MOST), run->fault);
}

/* The eye at a multiple of the job's distance. */
static Viewpoint viewpoint(const Run *run, double times)
{
    const Mural *m = &run->mural;
    return (Viewpoint){m->cell_width_mm, m->cell_height_mm, times * run->job->distance};
}

static Status match_colours(Run *run)
{
    Match *match;
    Status status = match_create(&match, &run->palette, run->fault);
    if (!status)
        status = match_image(match, run->target, run->threads, &run->grid, run->voice, run->fault);
    match_free(match);
    return status;
}

static Status search_colours(Run *run)
{
    const Mural *m = &run->mural;
    LookOptions options = LOOK_OPTIONS_DEFAULT;
    options.viewpoint = viewpoint(run, 1);
    options.build = m->solid.build;
    options.thrift = run->job->thrift;
    options.threads = run->threads;
    LookReport report;
    return look_search(run->target, &run->palette, &options, &run->grid, &report, run->voice,
                       run->fault);
}

static Status choose_colours(Run *run)
{
    Status status = tone_fit(&run->image, &run->palette, run->threads, &run->fitted, run->fault);
    run->target = run->job->tone == TONE_FIT ? &run->fitted : &run->image;
    if (status || run->grid.colour) return status;
    status = grid_init(&run->grid, run->image.columns, run->image.rows, false, run->fault);
    if (status) return status;
    switch ((Dither)run->job->dither) {
    case DITHER_DISTANCE:
        return search_colours(run);
    case DITHER_NONE:
        return match_colours(run);
    case DITHER_FLOYD_STEINBERG:
        return dither_floyd_steinberg(&run->palette, run->target, &dither_defaults, run->threads,
                                      &run->grid, run->voice, run->fault);
    case DITHER_BLUE_NOISE:
        return dither_blue_noise(&run->palette, run->target, &dither_defaults, run->threads,
                                 &run->grid, run->voice, run->fault);
    }
    return fault_set(run->fault, STATUS_INTERNAL, "plan: dither %d; report this", run->job->dither);
}

/* ---- steps a cell ---- */

/* Steps follow the edges of the bricks' colours, unless these are mixed or searched for:
 * then those of the picture. */
static Status raise_cells(Run *run)
{
    bool wanted;
    Status status = depth_wanted(run->job, &wanted, run->fault);
    if (status || !wanted) return status;
    const size_t cells = (size_t)run->grid.columns * (size_t)run->grid.rows;
    uint8_t *steps = memory_create(cells, 1);
    if (!steps) return memory_fault(run->fault, cells, 1);
    Image face = {0};
    const bool plain = *run->job->cells || run->job->dither == DITHER_NONE;
    if (plain) status = eye_face(&run->palette, &run->grid, &face, run->fault);
    if (!status)
        status = depth_steps(run->job, &run->frame, &run->image, plain ? &face : &run->image,
                             run->threads, steps, run->voice, run->fault);
    image_clear(&face);
    if (status)
        memory_free(steps);
    else
        run->grid.steps = steps;
    return status;
}

/* Takes down what no brick of a wall could carry. */
static Status carry_relief(Run *run)
{
    const Status status =
        carry_steps(&run->grid, run->mural.solid.build, run->mural.solid.base, &run->sizes,
                    &run->panels, &run->carried, run->voice, run->fault);
    if (!status && run->carried.count)
        voice_note(run->voice,
                   "relief: %zu cells stand %ld steps lower in all than asked, since nothing below "
                   "could carry them; plan.json lists them",
                   run->carried.count, run->carried.steps);
    return status;
}

/* ---- bricks ---- */

static Status colour_backing(Run *run)
{
    const char *id = run->job->backing;
    const int fill = *id ? palette_find(&run->palette, id) : 0;
    if (fill < 0)
        return fault_set(run->fault, STATUS_USAGE,
                         "--backing: '%s' is no colour of the palette; give one of its ids", id);
    return backing_colours(&run->palette, &run->sizes, &run->stock, fill, &run->laid, run->fault);
}

static Status lay_bricks(Run *run)
{
    const Job *job = run->job;
    Mural *m = &run->mural;
    m->solid.grid = &run->grid;
    PanelLimits limits = {.mass_kg = job->panel_mass};
    Status status = job_panel(job, &limits.columns, &limits.rows, run->fault);
    if (!status) status = panels_init(&run->panels, &m->solid, &run->sizes, &limits, run->fault);
    LayOptions options = LAY_OPTIONS_DEFAULT;
    options.threads = run->threads;
    if (!status) status = carry_relief(run);
    if (!status)
        status = lay(&m->solid, &run->sizes, &run->panels, &options, &run->laid, &run->laying,
                     run->voice, run->fault);
    if (!status) status = colour_backing(run);
    if (!status)
        status =
            bond_init(&run->bond, &m->solid, &run->panels, &run->laid, run->threads, run->fault);
    if (!status)
        status = parts_init(&run->parts, &run->laid, &run->palette, &run->sizes, &run->stock,
                            job->spare, run->fault);
    return status;
}

/* ---- figures ---- */

static Status perceive(Run *run, const Image *image, double times, Perceived *out)
{
    const Viewpoint eye = viewpoint(run, times);
    EyeResult seen;
    const Status status =
        eye_measure(image, &run->palette, &run->grid, &eye, run->threads, &seen, NULL, run->fault);
    if (!status) *out = (Perceived){seen.mean, seen.p95};
    return status;
}

static Status measure(Run *run)
{
    Mural *m = &run->mural;
    Measures *v = &m->measures;
    Status status =
        measure_cells(&run->image, &run->palette, &run->grid, run->threads, v, run->fault);
    if (!status) status = perceive(run, &run->image, 1, &v->perceived);
    if (!status) status = perceive(run, &run->image, 0.5, &v->near);
    if (!status) status = perceive(run, &run->image, 2, &v->far);
    if (!status) status = perceive(run, &run->fitted, 1, &v->fitted);
    if (status) return status;
    run->load = memory_create((size_t)run->panels.count, sizeof *run->load);
    if (!run->load) return memory_fault(run->fault, (size_t)run->panels.count, sizeof *run->load);
    measure_panels(&m->solid, &run->panels, &run->laid, &run->sizes, run->load);
    statics_panels(m, run->job->fixings, run->load);
    m->load = run->load;
    v->mass_kg = run->parts.mass_g / 1000;
    v->price = run->parts.price;
    v->hours = (double)run->laid.count / run->job->pace;
    double laps = 0;
    for (int i = 0; i < run->panels.count; i++) {
        const PanelBond *bond = &run->bond.panel[i];
        v->pieces += bond->pieces;
        v->unsupported += bond->unsupported;
        v->weak += bond->weak;
        laps += bond->quarter_lap * (double)run->load[i].bricks;
        if (bond->longest_straight_joint > v->longest_straight_joint)
            v->longest_straight_joint = bond->longest_straight_joint;
    }
    v->quarter_lap = laps / (double)run->laid.count;
    m->lower_bound = run->laying.lower_bound;
    cautions_find(&run->cautions, m);
    m->cautions = run->cautions.count;
    for (int i = 0; i < m->cautions; i++) m->caution[i] = run->cautions.text[i];
    return STATUS_OK;
}

/* ---- files ---- */

typedef Status Writer(const Mural *mural, const char *path, const Voice *voice, Fault *fault);

static Status write_cells(const Mural *m, const char *path, const Voice *v, Fault *f)
{
    (void)v;
    return cells_write(m->grid, m->palette, path, f);
}
static Status write_steps(const Mural *m, const char *path, const Voice *v, Fault *f)
{
    (void)v;
    return steps_write(m->grid, path, f);
}
static Status write_bricks(const Mural *m, const char *path, const Voice *v, Fault *f)
{
    (void)v;
    return table_bricks(m, path, f);
}
static Status write_rows(const Mural *m, const char *path, const Voice *v, Fault *f)
{
    (void)v;
    return table_rows(m, path, f);
}
static Status write_parts(const Mural *m, const char *path, const Voice *v, Fault *f)
{
    (void)v;
    return table_parts(m, path, f);
}
static Status write_panels(const Mural *m, const char *path, const Voice *v, Fault *f)
{
    (void)v;
    return table_panels(m, path, f);
}
static Status write_proof(const Mural *m, const char *path, const Voice *v, Fault *f)
{
    (void)v;
    return face_proof(m, path, f);
}
static Status write_distance(const Mural *m, const char *path, const Voice *v, Fault *f)
{
    (void)v;
    return face_distance(m, path, m->threads, f);
}

static Status write_relief(const Mural *m, const char *path, const Voice *v, Fault *f)
{
    LightOptions options = LIGHT_OPTIONS_DEFAULT;
    options.angle = m->job->light_angle;
    options.height = m->job->light_height;
    return light_write(m, &options, path, v, f);
}

static bool is_raised(const Mural *m) { return m->grid->steps != NULL; }
static bool book_wanted(const Mural *m) { return m->job->book; }

static const struct Output {
    const char *name;
    Writer *write;
    bool (*wanted)(const Mural *);
} outputs[] = {
    {"cells.png", write_cells, NULL},       {"steps.png", write_steps, is_raised},
    {"bricks.csv", write_bricks, NULL},     {"rows.csv", write_rows, NULL},
    {"parts.csv", write_parts, NULL},       {"panels.csv", write_panels, NULL},
    {"preview.png", face_preview, NULL},    {"proof.jpg", write_proof, NULL},
    {"distance.png", write_distance, NULL}, {"relief.png", write_relief, is_raised},
    {"relief.glb", model_write, is_raised}, {"book.pdf", book_write, book_wanted},
};
enum { OUTPUTS = sizeof outputs / sizeof *outputs };

/* Every name that a plan may hold, in this or another version or build. */
static bool is_ours(const char *name)
{
    static const char *const others[] = {"plan.json", "book.html"};
    for (size_t i = 0; i < OUTPUTS; i++)
        if (!strcmp(name, outputs[i].name)) return true;
    for (size_t i = 0; i < sizeof others / sizeof *others; i++)
        if (!strcmp(name, others[i])) return true;
    return false;
}

static Status write_files(Run *run, Folder *folder)
{
    RecordFile files[OUTPUTS];
    size_t count = 0;
    char path[FOLDER_PATH];
    for (size_t i = 0; i < OUTPUTS; i++) {
        if (voice_stopped(run->voice)) return interrupted(run);
        if (outputs[i].wanted && !outputs[i].wanted(&run->mural)) continue;
        voice_progress(run->voice, outputs[i].name, 0);
        folder_path(folder, outputs[i].name, path);
        Status status = outputs[i].write(&run->mural, path, run->voice, run->fault);
        if (!status) status = digest_file(path, files[count].sha256, run->fault);
        if (status) return status;
        files[count++].name = outputs[i].name;
    }
    folder_path(folder, "plan.json", path);
    const Status status = record_write(&run->mural, files, count, path, run->fault);
    if (status) return status;
    if (voice_stopped(run->voice)) return interrupted(run);
    return folder_commit(folder, is_ours, run->fault);
}

/* ---- the whole ---- */

static void describe(Run *run)
{
    const Job *job = run->job;
    const bool wall = job->build == BUILD_WALL;
    run->threads = job->threads ? job->threads : bands_processors();
    run->mural = (Mural){.job = job,
                         .threads = run->threads,
                         .reference = &run->reference,
                         .palette = &run->palette,
                         .sizes = &run->sizes,
                         .image = &run->image,
                         .grid = &run->grid,
                         .solid = {.build = (Build)job->build, .base = wall ? job->thickness : 1},
                         .panels = &run->panels,
                         .carried = &run->carried,
                         .laid = &run->laid,
                         .parts = &run->parts,
                         .bond = &run->bond,
                         .cell_width_mm = job->pitch,
                         .cell_height_mm = wall ? job->brick_height : job->pitch,
                         .step_mm = wall ? job->pitch : job->brick_height};
}

/* The first flaws in full; plan.json has them all. */
static void say_flaws(const Run *run)
{
    enum { SAID = 10 };
    char text[400];
    for (size_t i = 0; i < run->bond.flaws && i < SAID; i++) {
        flaw_text(&run->bond.flaw[i], &run->mural.solid, &run->panels, text, sizeof text);
        voice_note(run->voice, "%s", text);
    }
    if (run->bond.flaws > SAID)
        voice_note(run->voice, "%zu more weak places are listed in plan.json",
                   run->bond.flaws - SAID);
}

static bool holds(const Run *run)
{
    const Measures *v = &run->mural.measures;
    return v->unsupported == 0 && v->pieces == run->panels.count;
}

static void run_clear(Run *run)
{
    parts_clear(&run->parts);
    bond_clear(&run->bond);
    laid_clear(&run->laid);
    memory_free(run->load);
    carried_clear(&run->carried);
    panels_clear(&run->panels);
    grid_clear(&run->grid);
    image_clear(&run->fitted);
    image_clear(&run->image);
    stock_clear(&run->stock);
}

static const struct Step {
    const char *name; /* as progress shows it */
    Status (*take)(Run *run);
} steps[] = {
    {"colours", take_in},      {"cells", read_cells},        {"picture", look_at_reference},
    {"facts", tell_reference}, {"matching", choose_colours}, {"relief", raise_cells},
    {"laying", lay_bricks},    {"measuring", measure},
};

Status plan_run(const Job *job, const Voice *voice, Fault *fault)
{
    Run *run = memory_create(1, sizeof *run);
    if (!run) return memory_fault(fault, 1, sizeof *run);
    *run = (Run){.job = job, .voice = voice, .fault = fault};
    describe(run);

    Folder folder = {.lock = -1};
    Status status = folder_begin(&folder, job->out, fault);
    for (size_t i = 0; !status && i < sizeof steps / sizeof *steps; i++) {
        voice_progress(voice, steps[i].name, 0);
        status = voice_stopped(voice) ? interrupted(run) : steps[i].take(run);
    }
    if (!status) status = write_files(run, &folder);
    folder_abandon(&folder);
    if (!status) say_flaws(run);
    if (!status && !holds(run)) status = STATUS_UNHELD;
    run_clear(run);
    memory_free(run);
    return status;
}
