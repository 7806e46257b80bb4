/* All cases are looked at in every plan: springs cost little beside the laying, and nothing at all
 * worth telling where bricks lie flat on a sheet, since no brick then rests on another. Touches are
 * for what stands out, so a flat plan has none. */
#include "plan/plan_holds.h"

Status plan_holds_init(Holds *holds_out, const Brief *brief, const Studio *studio,
                       const Brickwork *brickwork, Fault *fault)
{
    const Job *job = brief->job;
    HoldTask task = {.solid = &brickwork->body.solid,
                     .panels = &brickwork->body.panels,
                     .laid = &brickwork->laying.laid,
                     .sizes = &studio->sizes,
                     .model = {.pitch_mm = job->pitch, .layer_mm = job->brick_height},
                     .safety = job->hold_safety,
                     .crate_g = job->crate_g,
                     .touch_n = job->touch,
                     .threads = brief->threads};
    *holds_out = (Holds){0};
    Status status = job_clutch(job, &task.model.knob.narrow, &task.model.knob.wide, fault);
    if (!status)
        status =
            load_cases_read(job->load_cases, (Build)job->build, "--load-cases", &task.cases, fault);
    return status ? status : holds_init(holds_out, &task, brief->voice, fault);
}
