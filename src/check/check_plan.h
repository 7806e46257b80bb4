/* Check of plan.json: reads it, and that every key is there, of its type and range. */
#ifndef ROWLOCK_CHECK_CHECK_PLAN_H
#define ROWLOCK_CHECK_CHECK_PLAN_H

#include "check/plan_facts.h"

/* Faults: no folder or no plan.json (STATUS_NO_INPUT), not JSON (STATUS_DATA). */
Status check_plan(PlanFacts *e, Fault *fault);

/* plan.json's `measures` against what the other checks found. A measure that could not
 * be re-derived is left out: NAN. */
typedef struct Found {
    double bricks, standing; /* of the bricks, those that stood when it was planned */
    double mass_kg, mass_off, price, price_off;
    double longest_straight_joint, pieces, unsupported, weak;
    double least_lap, most_lap; /* share of joints with a quarter lap, of any panel */
} Found;

void check_measures(PlanFacts *e, const Found *found);

#endif
