/* Check of relief.glb: its boxes are the bricks of bricks.csv, each once, in its place, of
 * its size and colour. A reader of its own of what glTF 2.0 asks: meshes of float corners,
 * eight a brick, told apart by their extras, hung up by nodes that may move them. */
#ifndef ROWLOCK_CHECK_CHECK_MODEL_H
#define ROWLOCK_CHECK_CHECK_MODEL_H

#include "check/plan_facts.h"

/* Nothing where the plan is flat, or its bricks are not sound. */
Status check_model(PlanFacts *e, Fault *fault);

#endif
