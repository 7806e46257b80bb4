/* Check of a hollow core: which units a plan may leave out, and how many it says that it
 * does. A shell of n units means: a unit may be left out if all units of its panel that are
 * up to n away along every axis, so in a cube of 2n + 1, are there and in the solid. */
#ifndef ROWLOCK_CHECK_CHECK_CORE_H
#define ROWLOCK_CHECK_CHECK_CORE_H

#include "check/plan_facts.h"

/* Reads the shell of plan.json's settings, and what it says of the core. */
void check_core_keys(PlanFacts *e);

/* Fills e->core, where a core is asked for and the panels are known. */
Status check_core(PlanFacts *e, Fault *fault);

/* Whether the unit may be left out. */
static inline bool core_holds(const PlanFacts *e, int column, int row, int tier)
{
    return e->core && tier >= e->shell &&
           tier < e->core[(size_t)row * (size_t)e->columns + (size_t)column];
}

/* The number of units that are in no brick, against what plan.json says. */
void check_core_units(PlanFacts *e, long units);

#endif
