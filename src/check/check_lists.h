/* Check of the lists: rows.csv, parts.csv and panels.csv against the bricks. */
#ifndef ROWLOCK_CHECK_CHECK_LISTS_H
#define ROWLOCK_CHECK_CHECK_LISTS_H

#include "check/check_bond.h"
#include "check/plan_facts.h"

Status check_rows(PlanFacts *e, Fault *fault);

/* Sets sums, mass_g and weighed; stands on check_difference. */
Status check_parts(PlanFacts *e, Fault *fault);

/* Sets hold; stands on check_parts. */
Status check_panels(PlanFacts *e, Fault *fault);

#endif
