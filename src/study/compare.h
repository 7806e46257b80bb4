/* Compare: one picture planned in several ways, side by side. */
#ifndef ROWLOCK_STUDY_COMPARE_H
#define ROWLOCK_STUDY_COMPARE_H

#include "base/voice.h"
#include "model/job.h"

enum { VARIANTS_MOST = 256 };

/* Plans every combination of the choices (kinds of them, the first varying slowest) on top
 * of the job, in parallel, and puts compare.png, compare.pdf and compare.csv into
 * job->out. */
Status compare_run(const Job *job, const Choices *choices, int kinds, const Voice *voice,
                   Fault *fault);

#endif
