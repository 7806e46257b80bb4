/* Check of the difference: difference.csv of a mural that was planned again, against the
 * bricks and against itself. */
#ifndef ROWLOCK_CHECK_CHECK_DIFFERENCE_H
#define ROWLOCK_CHECK_CHECK_DIFFERENCE_H

#include "check/plan_facts.h"

/* Counts the bricks by colour and size: sets count; and, where the plan lists the table, built and
 * standing, their sum. */
Status check_difference(PlanFacts *e, Fault *fault);

#endif
