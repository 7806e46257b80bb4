/* Check of the structure: what hangs together, what rests on nothing, and where joints
 * line up, found anew from the bricks alone. */
#ifndef ROWLOCK_CHECK_CHECK_BOND_H
#define ROWLOCK_CHECK_CHECK_BOND_H

#include "check/plan_facts.h"

/* Share of the joints over bricks that lap a quarter of the shorter brick; 1 of none. */
static inline double hold_lap(const Hold *hold)
{
    return hold->joints ? (double)hold->lapped / (double)hold->joints : 1;
}

/* Sets hold; only for sound bricks. */
Status check_hold(PlanFacts *e, Fault *fault);

#endif
