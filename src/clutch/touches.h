/* Touches: how hard a brick that stands out may be pushed before something comes off. */
#ifndef ROWLOCK_CLUTCH_TOUCHES_H
#define ROWLOCK_CLUTCH_TOUCHES_H

#include "base/voice.h"
#include "clutch/springs.h"

/* How a brick holds against a finger at the middle of its outward face. */
typedef struct TouchHold {
    double newtons; /* the least over both ways along the two sides, and outward */
    uint32_t joint; /* that gives first */
} TouchHold;

/* brick: those to be touched; outward: the axis toward the viewer, AXIS_U in a plaque and AXIS_B in
 * a wall. hold_out: one for each; at most, and never more than what they hold. The springs are set.
 * True unless the voice stopped. */
bool touches_find(Springs *springs, const uint32_t *brick, size_t bricks, int outward,
                  const Voice *voice, TouchHold *hold_out);

#endif
