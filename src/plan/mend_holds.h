/* Mend holds: changes a relief on a sheet where a touch would take bricks off. */
#ifndef ROWLOCK_PLAN_MEND_HOLDS_H
#define ROWLOCK_PLAN_MEND_HOLDS_H

#include "plan/lay_solid.h"

/* Recolours cells of the laid body, or lowers them, and lays it again until every brick that stands
 * out holds the job's `hold`, or nothing more helps; then says so. */
Status mend_holds(const PassTask *task, Body *body, Laying *laying, Fault *fault);

#endif
