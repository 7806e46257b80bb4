/* The plan is read before the first mural is planned, and again by the run that plans the rest of
 * it: bricks that stand are the same in both, so a run that goes on finds what the first one
 * found. */
#include "show/standing.h"

#include "base/memory.h"
#include "plan/built_part.h"
#include "plan/plan_reader.h"

#include <string.h>

/* What decides the size of a mural, its relief and its panels: a mural of which some stands has
 * these as it was planned. */
static const char *const fixed[] = {
    "columns",     "width",       "rows",         "height",        "build",
    "turn",        "mirror",      "crop",         "pitch",         "brick-height",
    "thickness",   "relief",      "depth-map",    "mask",          "toward",
    "steps",       "depth",       "relief-curve", "relief-smooth", "relief-islands",
    "relief-jump", "steps-map",   "panel",        "panel-mass",    "door",
    "sheet-mass",  "sheet-depth", "board",        "board-density", "frame-mass",
    "frame-depth", "fixings",     "fixing-mass",  "kit",           "kit-even",
    "hollow",      "hold",        "packing"};

static Status check_fixed(const Job *job, Fault *fault)
{
    Job *earlier = memory_create(1, sizeof *earlier);
    if (!earlier) return memory_fault(fault, 1, sizeof *earlier);
    Status status = plan_reader_settings(earlier, job->out, fault);
    for (size_t i = 0; !status && i < sizeof fixed / sizeof *fixed; i++) {
        char asked[JOB_TEXT + 64], stands[JOB_TEXT + 64];
        const Setting *s = setting_find(fixed[i]);
        job_show(job, s, asked, sizeof asked);
        job_show(earlier, s, stands, sizeof stands);
        if (strcmp(asked, stands) != 0)
            status = fault_set(fault, STATUS_DATA,
                               "%s: of the mural some stands, planned with '%s'; say that again",
                               fixed[i], stands);
    }
    memory_free(earlier);
    return status;
}

static void take(Standing *s, BuiltPart *built)
{
    s->cells = grid_cells(&built->earlier->grid);
    s->cell = built->cell;
    built->cell = NULL;
    for (size_t i = 0; i < s->cells; i++) s->shown += s->cell[i];
    for (size_t i = 0; i < built->laid.count; i++) {
        const Brick *b = &built->laid.brick[i];
        s->units += (long)b->columns * b->rows * b->tiers;
    }
}

static Status look_at_job(Standing *s, const Job *job, Fault *fault)
{
    EarlierPlan *earlier = NULL;
    BuiltPart built = {0};
    Status status = check_fixed(job, fault);
    if (!status) status = plan_reader_create(&earlier, job->out, fault);
    if (!status) status = built_part_init(&built, earlier, job->built, fault);
    if (!status) take(s, &built);
    built_part_clear(&built);
    plan_reader_free(earlier);
    return status;
}

Status standing_init(Standing *s, const ShowMural *mural, const Job *job, Fault *fault)
{
    Fault own = {0};
    *s = (Standing){0};
    if (!*job->built) return STATUS_OK;
    const Status status = look_at_job(s, job, &own);
    return status ? fault_set(fault, status, "%s: %s", mural->name, own.text) : STATUS_OK;
}

void standing_clear(Standing *s)
{
    memory_free(s->cell);
    *s = (Standing){0};
}
