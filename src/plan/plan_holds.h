/* Plan holds: what the joints of a plan's panels take, as its job asks. */
#ifndef ROWLOCK_PLAN_PLAN_HOLDS_H
#define ROWLOCK_PLAN_PLAN_HOLDS_H

#include "clutch/holds.h"
#include "model/laid.h"
#include "plan/body.h"
#include "plan/brief.h"
#include "plan/studio.h"

/* Of bricks in a body, with no load case asked for. Borrows what it is given. Fault: a clutch that
 * makes no sense. */
Status plan_hold_task(HoldTask *task_out, const Brief *brief, const Studio *studio,
                      const Body *body, const Laid *laid, Fault *fault);

/* Faults: settings that make no sense; no memory; stopped. holds_clear also after a fault. */
Status plan_holds_init(Holds *holds_out, const Brief *brief, const Studio *studio, const Body *body,
                       const Laid *laid, Fault *fault);

#endif
