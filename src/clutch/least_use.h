/* Least use: the least share of what its joints hold with which a panel can bear a load, exactly,
 * and how it would come apart. */
#ifndef ROWLOCK_CLUTCH_LEAST_USE_H
#define ROWLOCK_CLUTCH_LEAST_USE_H

#include "base/voice.h"
#include "clutch/springs.h"

typedef struct LeastUse {
    double use;
    uint32_t joint; /* the one that counts most as it comes apart; GROUND: none does */
    size_t moving;  /* bricks that then come away */
} LeastUse;

/* Of what the least use is sought. All is borrowed. */
typedef struct LeastUseTask {
    const Structure *structure;
    const Bearing *bearing;
    const uint8_t *loose; /* bricks that are left out, and the loads on them */
    const double *load;   /* bricks x 6: N, and moments over the pitch about each one's middle */
    /* By brick: one that it moves with as one body, itself or another that is its own; joints
     * within such a body hold whatever is asked. NULL: each is alone. What is found then is at most
     * the least use, and so proves that a panel comes apart but never that it does not. */
    const uint32_t *leader;
} LeastUseTask;

/* Joints that the program has: those between bodies. */
size_t least_use_joints(const LeastUseTask *task);

/* The work is done in a process of its own, since the solver ends the program where it finds no
 * memory. Faults: as of apart_run; the solver found no optimum. */
Status least_use_find(LeastUse *least_out, const LeastUseTask *task, const Voice *voice,
                      Fault *fault);

#endif
