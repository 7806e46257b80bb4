/* Live: what the calls on a plan that stays open share. */
#ifndef ROWLOCK_API_LIVE_H
#define ROWLOCK_API_LIVE_H

#include "plan/open_plan.h"
#include "rowlock.h"

struct RowlockLive {
    OpenPlan *plan;
};

/* The fault of a look at what no update has made. */
Status live_not_there(const char *what, Fault *fault);

#endif
