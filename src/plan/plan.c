/* The data's path: picture -> image of cells -> colour and steps a cell -> solid -> panels ->
 * bricks -> bond, parts, measures -> files.
 *
 * Each stage is a module that is named after what it makes; what it reads and makes is in its
 * signature. Here they are joined: a plan keeps what every stage has made, and the table of
 * stages takes them in their order. No stage changes what another one has made, so one may be
 * taken again, and then those that read what it makes. No stage but the last writes a file. */
#include "plan/plan.h"

#include "base/memory.h"
#include "plan/brickwork.h"
#include "plan/brief.h"
#include "plan/closing_notes.h"
#include "plan/face_colours.h"
#include "plan/outputs.h"
#include "plan/own_cells.h"
#include "plan/plan_figures.h"
#include "plan/raise.h"
#include "plan/sampled_picture.h"
#include "plan/size_notes.h"
#include "plan/studio.h"
#include "plan/target.h"

/* All that the stages make, in their order. */
typedef struct Plan {
    Brief brief;
    Fault *fault;
    Studio studio;
    Grid own; /* the user's own cells; empty: none */
    SampledPicture picture;
    Image fitted;  /* the picture's image within what the palette can show */
    Grid face;     /* colours */
    Raised raised; /* steps as asked for */
    Brickwork brickwork;
    PlanFigures figures;
} Plan;

/* What the colours are chosen for. */
static const Image *target_of(const Plan *p)
{
    return target_choose(p->brief.job, &p->picture.image, &p->fitted);
}

/* What the writers read. */
static Mural mural_of(const Plan *p)
{
    const Job *job = p->brief.job;
    const Brickwork *b = &p->brickwork;
    const bool stands = p->brief.standing;
    Mural mural = {.job = job,
                   .threads = p->brief.threads,
                   .reference = &p->picture.reference,
                   .palette = &p->studio.palette,
                   .offered = p->studio.offered.count,
                   .sizes = &p->studio.sizes,
                   .stock = &p->studio.stock,
                   .image = &p->picture.image,
                   .grid = &b->body.grid,
                   .subject = p->raised.subject.label ? &p->raised.subject : NULL,
                   .solid = b->body.solid,
                   .panels = &b->body.panels,
                   .step_changes = &b->step_changes,
                   .laid = &b->laying.laid,
                   .standing = stands ? &p->studio.built : NULL,
                   .stands = b->stands,
                   .difference = stands ? &b->difference : NULL,
                   .parts = &b->parts,
                   .bond = &b->bond,
                   .even = b->even,
                   .saving = b->laying.saving,
                   .cell_width_mm = brief_cell_width(&p->brief),
                   .cell_height_mm = brief_cell_height(&p->brief),
                   .step_mm = brief_step(&p->brief),
                   .lower_bound = b->laying.report.lower_bound,
                   .lower_cost = b->laying.report.lower_cost};
    plan_figures_tell(&p->figures, &mural);
    return mural;
}

/* ---- the stages ---- */

static Status take_in(Plan *p) { return studio_init(&p->studio, &p->brief, STOCK_OWN, p->fault); }

static Status read_cells(Plan *p)
{
    return own_cells_init(&p->own, &p->brief, &p->studio.palette, p->fault);
}

static Status sample_picture(Plan *p)
{
    return sampled_picture_init(&p->picture, &p->brief, &p->own, p->fault);
}

static Status fit_tone(Plan *p)
{
    return target_fit(&p->fitted, &p->brief, &p->studio, &p->picture.image, p->fault);
}

static Status choose_colours(Plan *p)
{
    return face_colours_init(&p->face, &p->brief, &p->studio, &p->own, target_of(p), p->fault);
}

static Status raise_relief(Plan *p)
{
    return raised_init(&p->raised, &p->brief, &p->picture, &p->studio.palette, &p->face, p->fault);
}

static Status lay_bricks(Plan *p)
{
    const LayInputs inputs = {&p->studio, target_of(p), &p->face, p->raised.steps};
    return brickwork_init(&p->brickwork, &p->brief, &inputs, p->fault);
}

static Status reckon_figures(Plan *p)
{
    const Mural mural = mural_of(p);
    return plan_figures_init(&p->figures, &mural, &p->fitted, p->fault);
}

static const struct Stage {
    const char *name; /* as progress shows it */
    Status (*take)(Plan *plan);
} stages[] = {
    {"colours", take_in},   {"cells", read_cells},         {"picture", sample_picture},
    {"tone", fit_tone},     {"matching", choose_colours},  {"relief", raise_relief},
    {"laying", lay_bricks}, {"measuring", reckon_figures},
};

static void plan_free(Plan *p)
{
    if (!p) return;
    plan_figures_clear(&p->figures);
    brickwork_clear(&p->brickwork);
    raised_clear(&p->raised);
    grid_clear(&p->face);
    image_clear(&p->fitted);
    sampled_picture_clear(&p->picture);
    grid_clear(&p->own);
    studio_clear(&p->studio);
    memory_free(p);
}

/* ---- the run ---- */

static Status take_stages(Plan *p)
{
    const Voice *voice = p->brief.voice;
    Status status = STATUS_OK;
    for (size_t i = 0; !status && i < sizeof stages / sizeof *stages; i++) {
        voice_progress(voice, stages[i].name, 0);
        status = voice_stopped(voice) ? brief_interrupted(p->fault) : stages[i].take(p);
    }
    return status;
}

static Status write_files(const Plan *p, const Mural *mural, Folder *folder)
{
    const Voice *voice = p->brief.voice;
    voice_progress(voice, "files", 0);
    const Status status = outputs_write(mural, p->brief.threads, folder, voice, p->fault);
    if (voice_stopped(voice)) return brief_interrupted(p->fault);
    if (status) return status;
    return folder_commit(folder, p->fault);
}

/* Plans into a folder that was begun. */
static Status plan_into(Plan *p, Folder *folder)
{
    Status status = take_stages(p);
    if (status) return status;
    const Mural mural = mural_of(p);
    status = write_files(p, &mural, folder);
    if (status) return status;
    closing_notes_say(p->brief.voice, &mural);
    if (!p->brief.standing) size_notes_say(&p->brief, &p->picture.frame);
    if (p->fault) *p->fault = (Fault){0}; /* layings that were tried in vain left theirs */
    return plan_figures_hold(&p->figures, mural.panels) ? STATUS_OK : STATUS_UNHELD;
}

Status plan_run(const Job *job, const Voice *voice, Fault *fault)
{
    return plan_around(job, NULL, voice, fault);
}

Status plan_around(const Job *job, const BuiltPart *standing, const Voice *voice, Fault *fault)
{
    Folder folder = {0};
    job_note_idle(job, voice);
    Plan *plan = memory_create(1, sizeof *plan);
    if (!plan) return memory_fault(fault, 1, sizeof *plan);
    plan->brief = brief_of(job, standing, voice);
    plan->fault = fault;
    Status status = folder_begin(&folder, job->out, &outputs_folder, fault);
    if (!status) status = plan_into(plan, &folder);
    folder_abandon(&folder);
    plan_free(plan);
    return status;
}
