/* Relief support: finds the steps of a relief that no brick could carry, and lowers them. */
#ifndef ROWLOCK_HOLD_RELIEF_SUPPORT_H
#define ROWLOCK_HOLD_RELIEF_SUPPORT_H

#include "base/status.h"
#include "base/voice.h"
#include "model/grid.h"
#include "model/panel.h"
#include "model/sizes.h"

typedef struct StepChange {
    int column, row;  /* from 0 */
    uint8_t from, to; /* steps */
} StepChange;

/* How a grid's steps differ from those that were asked for. */
typedef struct StepChanges {
    size_t count, capacity;
    StepChange *change; /* by row, then column */
    size_t lowered;     /* of the changes; the others raise */
    long steps;         /* the sum of all that was taken away */
} StepChanges;

/* A relief that is to be carried. Borrowed. */
typedef struct Relief {
    Grid *grid; /* its steps are lowered; they may be NULL */
    Build build;
    int base; /* tiers, see Solid */
    const Panels *panels;
    const Sizes *sizes; /* of bricks that may carry */
} Relief;

/* Lowers the grid's steps until every course can be carried; a fault leaves them as they were.
 * Nothing changes in a plaque, which lies flat while it is built and where every tier rests on
 * the one below. */
Status relief_support_steps(const Relief *relief, StepChanges *changes_out, const Voice *voice,
                            Fault *fault);

/* Lists how the grid's steps differ from those that were asked for. */
Status step_changes_list(StepChanges *changes_out, const Grid *grid, const uint8_t *asked,
                         Fault *fault);
void step_changes_clear(StepChanges *changes);

#endif
