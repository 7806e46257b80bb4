/* Replan: plans a mural anew of which some stands already. */
#ifndef ROWLOCK_PLAN_REPLAN_H
#define ROWLOCK_PLAN_REPLAN_H

#include "base/voice.h"
#include "model/job.h"

/* Plans the rest of the plan in `folder` around what job->built names, and puts the whole
 * in job->out, which may be the same folder. The job is that of plan_reader_settings and what
 * the user asks for anew. Returns as plan_run does. */
Status replan_run(const Job *job, const char *folder, const Voice *voice, Fault *fault);

#endif
