/* Mend holds: changes a relief on a sheet where a touch would take bricks off. */
#ifndef ROWLOCK_PLAN_MEND_HOLDS_H
#define ROWLOCK_PLAN_MEND_HOLDS_H

#include "plan/lay_solid.h"

/* What the mending took. */
typedef struct HoldMends {
    size_t recoloured, lowered; /* cells */
    long steps;                 /* by so many they were lowered in all */
    double colour_change;       /* CIEDE2000, the sum over cells that were recoloured */
    size_t before, after;       /* bricks that hold less than what is asked */
    double least_before_n, least_after_n;
    long bricks; /* more than before */
} HoldMends;

/* Recolours cells of the laid body, or lowers them, and lays it again until every brick that stands
 * out holds the job's `hold`, or nothing more helps; then says so. */
Status mend_holds(const PassTask *task, Body *body, Laying *laying, HoldMends *mends_out,
                  Fault *fault);

#endif
