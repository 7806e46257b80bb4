/* All cases are looked at in every plan: springs cost little beside the laying, and least where a
 * mural lies flat on its sheets, for there no brick rests on another. Touches are for what stands
 * out, so a flat plan has none. */
#include "plan/plan_holds.h"

Status plan_hold_task(HoldTask *task, const Brief *brief, const Studio *studio, const Body *body,
                      const Laid *laid, Fault *fault)
{
    const Job *job = brief->job;
    *task = (HoldTask){.solid = &body->solid,
                       .panels = &body->panels,
                       .laid = laid,
                       .sizes = &studio->sizes,
                       .model = {.pitch_mm = job->pitch, .layer_mm = job->brick_height},
                       .safety = job->hold_safety,
                       .crate_g = job->crate_g,
                       .touch_n = job->touch,
                       .threads = brief->threads};
    return job_clutch(job, &task->model.knob.narrow, &task->model.knob.wide, fault);
}

Status plan_holds_init(Holds *holds_out, const Brief *brief, const Studio *studio, const Body *body,
                       const Laid *laid, Fault *fault)
{
    const Job *job = brief->job;
    HoldTask task;
    *holds_out = (Holds){0};
    Status status = plan_hold_task(&task, brief, studio, body, laid, fault);
    if (!status)
        status =
            load_cases_read(job->load_cases, (Build)job->build, "--load-cases", &task.cases, fault);
    return status ? status : holds_init(holds_out, &task, brief->voice, fault);
}
