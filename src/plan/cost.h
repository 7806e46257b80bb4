/* Cost: about what a plan of so many cells takes, said before it is begun. */
#ifndef ROWLOCK_PLAN_COST_H
#define ROWLOCK_PLAN_COST_H

#include "plan/brief.h"

typedef struct Cost {
    double bytes;   /* of memory, at the most that is held at once */
    double seconds; /* with the brief's threads */
} Cost;

/* To within a factor of two for pictures with some detail; the seconds are those of a processor of
 * 2020, for an order of magnitude. */
Cost cost_of(const Brief *brief, int columns, int rows);

/* Fault: it takes more memory than the job may. */
Status cost_check(const Brief *brief, int columns, int rows, Fault *fault);

#endif
