/* Plan: the data's path from picture to book. */
#ifndef ROWLOCK_PLAN_PLAN_H
#define ROWLOCK_PLAN_PLAN_H

#include "base/voice.h"
#include "model/job.h"
#include "plan/built_part.h"
#include "plan/open_plan.h"

/* Plans the job and puts the plan in job->out. STATUS_UNHELD: it is written, but some
 * brick cannot be made to hold; each is said by a note. */
Status plan_run(const Job *job, const Voice *voice, Fault *fault);

/* The same around what stands of an earlier plan; NULL: nothing stands. */
Status plan_around(const Job *job, const BuiltPart *standing, const Voice *voice, Fault *fault);

/* Plans the job with a plan that is open, of which only what changed is made anew: the same files
 * as plan_run's. */
Status plan_write(OpenPlan *plan, const Job *job, const Voice *voice, Fault *fault);

#endif
