/* Check of the structure: what hangs together, what rests on nothing, and where joints
 * line up, found anew from the bricks alone. */
#ifndef ROWLOCK_CHECK_CHECK_BOND_H
#define ROWLOCK_CHECK_CHECK_BOND_H

#include "check/plan_facts.h"

typedef struct Hold { /* of one panel */
    long bricks, pieces, unsupported, weak, straight;
    size_t joints, lapped;
} Hold;

/* Share of the joints over bricks that lap a quarter of the shorter brick; 1 of none. */
static inline double hold_lap(const Hold *hold)
{
    return hold->joints ? (double)hold->lapped / (double)hold->joints : 1;
}

/* *hold_out: one for each panel, the caller's to free; only for sound bricks. */
Status check_hold(const PlanFacts *e, Hold **hold_out, Fault *fault);

#endif
