/* Demand: what a panel's own weight asks of its joints, turned and shaken as a load case says. */
#ifndef ROWLOCK_CLUTCH_DEMAND_H
#define ROWLOCK_CLUTCH_DEMAND_H

#include "clutch/springs.h"

enum { DEMAND_WAYS = 2 };

/* Forces are linear in the load, so that three solves serve every direction. */
typedef struct Demand {
    double any_way; /* g: this much, whichever way; 0: the ways below */
    int ways;
    double way[DEMAND_WAYS][AXES]; /* g along a, b and u */
} Demand;

/* What the weight along each axis does to each joint. */
typedef struct WeightForces {
    double (*joint)[AXES][FORCES]; /* joints that hold */
} WeightForces;

/* Shares of all joints under a demand, and the largest. */
typedef struct DemandUse {
    double use;
    uint32_t joint; /* the one that takes it, the first of several */
} DemandUse;

/* Fault: no memory. weight_forces_clear also after it. */
Status weight_forces_init(WeightForces *forces_out, size_t joints, Fault *fault);
void weight_forces_clear(WeightForces *forces);

/* Solves for the weight along each axis, with the springs as they are set. */
void weight_forces_find(WeightForces *forces, Springs *springs);

/* One joint's share. */
double demand_joint_use(const Demand *demand, const Joint *joint, const double force[AXES][FORCES]);

/* use_out[joints]: every joint's share; NULL: not asked for. */
DemandUse demand_use(const Demand *demand, const Springs *springs, const WeightForces *forces,
                     double *use_out);

/* Forces that balance the same load with less of the worst joint, as far as that can be had by
 * making springs softer where much is asked of them; at most the share that the springs as they are
 * give, and stops below `enough`. use_out as above. The springs are left as they were tried last.
 * Faults: no memory, and as of springs_set. */
Status demand_soften(const Demand *demand, Springs *springs, double enough, DemandUse *best_out,
                     double *use_out, Fault *fault);

#endif
