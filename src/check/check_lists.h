/* Check of the lists: rows.csv, parts.csv and panels.csv against the bricks. */
#ifndef ROWLOCK_CHECK_CHECK_LISTS_H
#define ROWLOCK_CHECK_CHECK_LISTS_H

#include "check/check_bond.h"
#include "check/plan_facts.h"

Status check_rows(PlanFacts *e, Fault *fault);

/* Counts and sums of parts.csv; *price_out and *mass_g_out with how far they may be off
 * by rounding. NAN where the table cannot be read. Sets weighed; stands on check_difference. */
typedef struct Sums {
    double price, price_off, mass_g, mass_off;
} Sums;
Status check_parts(PlanFacts *e, Sums *sums_out, Fault *fault);

/* hold is one for each panel, or NULL where the bricks are not sound. */
Status check_panels(PlanFacts *e, const Hold *hold, Fault *fault);

#endif
