/* Check of the solid: cells.png and steps.png fit the plan, panels tile the mural,
 * and the bricks of bricks.csv fill the solid as the cells say. */
#ifndef ROWLOCK_CHECK_CHECK_SOLID_H
#define ROWLOCK_CHECK_CHECK_SOLID_H

#include "check/plan_facts.h"

Status check_face(PlanFacts *e, Fault *fault);   /* sets faced */
Status check_bricks(PlanFacts *e, Fault *fault); /* sets tiled, read and sound */

#endif
