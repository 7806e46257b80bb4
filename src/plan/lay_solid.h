/* Lay solid: lays a body until its panels hold together, around a hollow core where one is
 * asked for. */
#ifndef ROWLOCK_PLAN_LAY_SOLID_H
#define ROWLOCK_PLAN_LAY_SOLID_H

#include "figures/mural.h"
#include "plan/lay_pass.h"

/* What laying makes of a body. */
typedef struct Laying {
    Laid laid;        /* in building order */
    LayReport report; /* bounds that are proven */
    Saving saving;    /* of the hollow core; shell 0: none was asked for */
} Laying;

/* body is that of the task; steps are raised where panels of a relief wall come apart, and its
 * core is carved. The bricks, without those that stand, take the place of what *laying
 * (initialised by the caller to {0}) has. */
Status lay_solid(const PassTask *task, Body *body, Laying *laying, Fault *fault);
void laying_clear(Laying *laying);

/* Puts the task's bricks that stand among those that were laid around them. */
Status join_built(const PassTask *task, Laid *laid, Fault *fault);

#endif
