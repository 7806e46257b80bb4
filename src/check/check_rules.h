/* Check of what single cells were asked: regions that bar colours, and pins. */
#ifndef ROWLOCK_CHECK_CHECK_RULES_H
#define ROWLOCK_CHECK_CHECK_RULES_H

#include "check/plan_facts.h"

/* No cell of a region of regions.png has a colour that plan.json bars there. */
Status check_regions(PlanFacts *e, Fault *fault);

/* Every cell that pins.png has a colour for has it. */
Status check_pins(PlanFacts *e, Fault *fault);

#endif
