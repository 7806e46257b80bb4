/* Lay pass: lays a body as the job favours it, once. */
#ifndef ROWLOCK_PLAN_LAY_PASS_H
#define ROWLOCK_PLAN_LAY_PASS_H

#include "model/laid.h"
#include "model/laying.h"
#include "plan/body.h"
#include "plan/brief.h"
#include "plan/cell_rules.h"
#include "plan/studio.h"

/* What is laid, of what, around what. All is borrowed. */
typedef struct PassTask {
    const Brief *brief;
    const Studio *studio;
    const Body *body;
    const CellRules *rules; /* where colours must change; NULL: nothing is asked of single cells */
    const Laid *built;      /* bricks that stand, and are laid around */
    const Laid *ties;       /* see LayOptions; NULL: none */
    int fill;               /* colour of backing that nothing else decides */
} PassTask;

/* The bricks in building order, without those that stand, take the place of those in *laid
 * (initialised by the caller to {0}); the bounds hold for whatever the job favours. Fault of
 * STATUS_DATA: no brick of the set covers some cell. */
Status lay_pass(const PassTask *task, Laid *laid, LayReport *report_out, Fault *fault);

#endif
