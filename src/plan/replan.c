/* Planning anew is planning, with two things settled before: what of the earlier plan stands,
 * and which settings of it still hold. What the user gives anew wins. The earlier stock counts
 * no more, since bricks of it are built in. */
#include "plan/replan.h"

#include "plan/built_part.h"
#include "plan/plan.h"
#include "plan/plan_reader.h"

#include <string.h>
#include <unistd.h>

/* Looks for the picture where the earlier plan found it, unless the user gives another place. */
static Status find_reference(Job *job, const EarlierPlan *earlier, Fault *fault)
{
    if (*job->reference) return STATUS_OK;
    memcpy(job->reference, earlier->job.reference, sizeof job->reference);
    if (strcmp(job->reference, "-") != 0 && access(job->reference, R_OK) == 0) return STATUS_OK;
    return fault_set(fault, STATUS_NO_INPUT,
                     "%s: the picture that %s was planned from is not there; give it with "
                     "--reference",
                     job->reference, earlier->folder);
}

/* Cells of the user's own stay, unless they may ask for colours that are not to be had now: in
 * another palette, or where only the stock may be used. */
static void keep_own_cells(Job *job, BuiltPart *standing, const Voice *voice)
{
    const EarlierPlan *earlier = standing->earlier;
    if (*job->cells || !*earlier->job.cells) return;
    standing->cells_kept = standing->palette_kept && !job->stock_only;
    if (standing->cells_kept)
        memcpy(job->cells, earlier->job.cells, sizeof job->cells);
    else
        voice_note(voice,
                   "cells: what does not stand is chosen anew from the picture; give --cells %s "
                   "to keep what was painted there",
                   earlier->job.cells);
}

/* Fills in what the user did not give anew from what the earlier plan was made from. */
static Status adopt_settings(Job *job, BuiltPart *standing, const Voice *voice, Fault *fault)
{
    const EarlierPlan *earlier = standing->earlier;
    const Status status = find_reference(job, earlier, fault);
    if (status) return status;
    standing->palette_kept = !*job->palette;
    if (standing->palette_kept) memcpy(job->palette, earlier->job.palette, sizeof job->palette);
    keep_own_cells(job, standing, voice);
    if (!*job->stock && *earlier->job.stock)
        voice_note(voice,
                   "stock: %s counts no more, since bricks of it are built in; give what is on the "
                   "shelf now with --stock",
                   earlier->job.stock);
    return STATUS_OK;
}

Status replan_run(const Job *job, const char *folder, const Voice *voice, Fault *fault)
{
    Job settled = *job;
    EarlierPlan *earlier = NULL;
    BuiltPart standing = {0};
    voice_progress(voice, "earlier plan", 0);
    Status status = plan_reader_create(&earlier, folder, fault);
    if (!status) status = built_part_init(&standing, earlier, job->built, fault);
    if (!status) built_part_note(&standing, voice);
    if (!status) status = adopt_settings(&settled, &standing, voice, fault);
    if (!status) status = plan_around(&settled, &standing, voice, fault);
    built_part_clear(&standing);
    plan_reader_free(earlier);
    return status;
}
