/* The data's path: picture -> image of cells -> colour and steps a cell -> solid ->
 * panels -> bricks -> bond, parts, measures -> files. work.h has the steps up to the
 * files; plan_run takes them in that order. */
#include "plan/plan.h"

#include "plan/outputs.h"
#include "plan/work.h"

#include <stdio.h>
#include <string.h>

static Status write_files(Work *work, Folder *folder)
{
    PlanFile files[OUTPUTS_OF_PLAN];
    size_t count;
    char path[FOLDER_PATH];
    voice_progress(work->voice, "files", 0);
    Status status =
        outputs_write(&work->mural, work->threads, folder, work->voice, files, &count, work->fault);
    if (voice_stopped(work->voice)) return work_interrupted(work);
    if (status) return status;
    folder_path(folder, "plan.json", path);
    status = plan_json_write(&work->mural, files, count, path, work->fault);
    if (status) return status;
    if (voice_stopped(work->voice)) return work_interrupted(work);
    return folder_commit(folder, outputs_is_ours, work->fault);
}

/* The first flaws in full, of those that part a panel or line up; plan.json has them all. */
static void say_flaws(const Work *work)
{
    enum { SAID = 10 };
    char text[400];
    size_t grave = 0;
    for (size_t i = 0; i < work->bond.flaws; i++) {
        const Flaw *flaw = &work->bond.flaw[i];
        if (flaw->kind == FLAW_WEAK || ++grave > SAID) continue;
        flaw_text(flaw, &work->mural.solid, &work->panels, text, sizeof text);
        voice_note(work->voice, "%s", text);
    }
    if (grave > SAID)
        voice_note(work->voice, "%zu more such places are listed in plan.json", grave - SAID);
    if (work->bond.flaws > grave)
        voice_note(work->voice,
                   "%zu bricks each hold on to some others alone; plan.json lists them and the "
                   "charts mark them",
                   work->bond.flaws - grave);
}

static void say_difference(const Work *work)
{
    const Difference *d = work->mural.difference;
    if (!d) return;
    const long change = d->after - d->before;
    voice_note(work->voice,
               "%ld of %ld bricks stand, %ld are to come; that is %ld %s than before, "
               "difference.csv lists them by colour and size",
               d->built, d->after, d->after - d->built, change < 0 ? -change : change,
               change < 0 ? "fewer" : "more");
}

/* How near the least the laying is, where it was to cost least. */
static void say_cost(const Work *work)
{
    const Mural *m = &work->mural;
    const double cost = m->measures.laying_cost, over = cost - m->lower_cost;
    if (cost <= 0) return;
    if (over <= 1e-6 * cost)
        voice_note(work->voice,
                   "favour: bricks at the set's prices and their labour come to %.2f, proven to be "
                   "the least",
                   cost);
    else if (over > m->lower_cost) /* after changes of colour little is proven */
        voice_note(work->voice, "favour: bricks at the set's prices and their labour come to %.2f",
                   cost);
    else
        voice_note(work->voice,
                   "favour: bricks at the set's prices and their labour come to %.2f, at most "
                   "%.2f %% over the least",
                   cost, 100 * over / m->lower_cost);
}

static const struct Step {
    const char *name; /* as progress shows it */
    Status (*take)(Work *work);
} steps[] = {
    {"colours", work_take_in},         {"cells", work_read_cells}, {"picture", work_look},
    {"matching", work_choose_colours}, {"relief", work_raise},     {"laying", work_lay},
    {"measuring", work_measure},
};

Status plan_run(const Job *job, const Voice *voice, Fault *fault)
{
    return plan_around(job, NULL, voice, fault);
}

Status plan_around(const Job *job, const BuiltPart *standing, const Voice *voice, Fault *fault)
{
    Work *work = NULL;
    Folder folder = {.lock = -1};
    job_note_idle(job, voice);
    Status status = work_create(&work, job, voice, fault);
    if (!status) work->standing = standing;
    if (!status) status = folder_begin(&folder, job->out, fault);
    for (size_t i = 0; !status && i < sizeof steps / sizeof *steps; i++) {
        voice_progress(voice, steps[i].name, 0);
        status = voice_stopped(voice) ? work_interrupted(work) : steps[i].take(work);
    }
    if (!status) status = write_files(work, &folder);
    folder_abandon(&folder);
    if (!status) say_difference(work);
    if (!status) say_cost(work);
    if (!status) say_flaws(work);
    if (!status && fault) *fault = (Fault){0}; /* layings that were tried in vain left theirs */
    if (!status && !work_holds(work)) status = STATUS_UNHELD;
    work_free(work);
    return status;
}
