/* Check of the forces: what the joints of a plaque's panels take, reckoned anew from the bricks. */
#ifndef ROWLOCK_CHECK_CHECK_FORCES_H
#define ROWLOCK_CHECK_CHECK_FORCES_H

#include "check/plan_facts.h"

/* The uses of plan.json's panels, and the least of its holds. Says where it leaves that: walls, and
 * reliefs of more bricks than it takes a second or two for. */
Status check_forces(PlanFacts *e, Fault *fault);

#endif
