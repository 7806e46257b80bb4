/* The data's path: picture -> image of cells -> colour and steps a cell -> solid -> panels ->
 * bricks -> bond, parts, measures -> files.
 *
 * The stages and their order are those of plan/open_plan; here they are all taken, once, and what
 * they made is written. No stage but this last one writes a file. */
#include "plan/plan.h"

#include "plan/brief.h"
#include "plan/closing_notes.h"
#include "plan/open_plan.h"
#include "plan/outputs.h"
#include "plan/print_notes.h"
#include "plan/size_notes.h"

static Status write_files(const PlanState *state, const Mural *mural, Folder *folder,
                          const Voice *voice, Fault *fault)
{
    voice_progress(voice, "files", 0);
    const Status status = outputs_write(mural, state->brief.threads, folder, voice, fault);
    if (voice_stopped(voice)) return brief_interrupted(fault);
    if (status) return status;
    return folder_commit(folder, fault);
}

static void say_size(const PlanState *state, const Voice *voice)
{
    Brief brief = state->brief;
    brief.voice = voice;
    if (!brief.standing) size_notes_say(&brief, &state_picture(state)->frame);
}

/* Writes a plan that is up to date into a folder that was begun. */
static Status write_plan(const PlanState *state, Folder *folder, const Voice *voice, Fault *fault)
{
    const Mural mural = state_mural(state);
    const Status status = write_files(state, &mural, folder, voice, fault);
    if (status) return status;
    closing_notes_say(voice, &mural);
    print_notes_say(voice, mural.job, mural.palette, mural.reference->file);
    say_size(state, voice);
    closing_notes_end(voice, &mural);
    if (fault) *fault = (Fault){0}; /* layings that were tried in vain left theirs */
    return plan_figures_hold(state_figures(state), mural.panels) ? STATUS_OK : STATUS_UNHELD;
}

Status plan_write(OpenPlan *plan, const Job *job, const Voice *voice, Fault *fault)
{
    Folder folder = {0};
    job_note_idle(job, voice);
    Status status = folder_begin(&folder, job->out, &outputs_folder, fault);
    if (!status) status = open_plan_update(plan, job, STAGE_BIT(STAGE_FIGURES), voice, fault);
    if (!status) {
        const PlanState *state = open_plan_see(plan);
        status = write_plan(state, &folder, voice, fault);
        open_plan_leave(plan, state);
    }
    folder_abandon(&folder);
    return status;
}

Status plan_run(const Job *job, const Voice *voice, Fault *fault)
{
    return plan_around(job, NULL, voice, fault);
}

Status plan_around(const Job *job, const BuiltPart *standing, const Voice *voice, Fault *fault)
{
    OpenPlan *plan;
    Status status = open_plan_create(&plan, standing, 0, fault);
    if (!status) status = plan_write(plan, job, voice, fault);
    open_plan_free(plan);
    return status;
}
