/* Check of the folder: the files that plan.json lists are there, no others of a plan
 * are, digests match, and pictures and books are what their names say. */
#ifndef ROWLOCK_CHECK_CHECK_FILES_H
#define ROWLOCK_CHECK_CHECK_FILES_H

#include "check/plan_facts.h"

Status check_files(PlanFacts *e, Fault *fault);

#endif
