/* Plan holds: what the joints of a plan's panels take, as its job asks. */
#ifndef ROWLOCK_PLAN_PLAN_HOLDS_H
#define ROWLOCK_PLAN_PLAN_HOLDS_H

#include "clutch/holds.h"
#include "plan/brickwork.h"
#include "plan/brief.h"
#include "plan/studio.h"

/* Faults: settings that make no sense; no memory; stopped. holds_clear also after a fault. */
Status plan_holds_init(Holds *holds_out, const Brief *brief, const Studio *studio,
                       const Brickwork *brickwork, Fault *fault);

#endif
