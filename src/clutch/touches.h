/* Touches: how hard a brick that stands out may be pushed before something comes off. */
#ifndef ROWLOCK_CLUTCH_TOUCHES_H
#define ROWLOCK_CLUTCH_TOUCHES_H

#include "clutch/springs.h"

/* How a brick holds against a finger at the middle of its outward face. */
typedef struct TouchHold {
    double newtons; /* the least over both ways along the two sides, and outward */
    uint32_t joint; /* that gives first */
} TouchHold;

/* What is touched. Borrowed. */
typedef struct TouchTask {
    const uint32_t *brick; /* bricks: none twice, none loose */
    size_t bricks;
    int outward;     /* the axis toward the viewer, AXIS_U in a plaque and AXIS_B in a wall */
    double enough_n; /* what holds more, and is not the least, is not looked at closer */
} TouchTask;

/* The springs are set as stiff as joints hold much. hold_out: one for each brick, what it holds by
 * these springs or, where that is more than enough, less: enough at least, and at least as much as
 * the least of all. Faults: no memory; stopped. */
Status touches_find(Springs *springs, const TouchTask *task, TouchHold *hold_out, Fault *fault);

#endif
