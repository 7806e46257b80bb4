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

/* load: bricks x 6, forces (N) and moments over the pitch about each brick's middle. Bricks that
 * `loose` marks, and loads on them, are left out. The work is done in a process of its own, since
 * the solver ends the program where it finds no memory. Faults: as of apart_run; the solver found
 * no optimum. */
Status least_use_find(LeastUse *least_out, const Structure *structure, const Bearing *bearing,
                      const uint8_t *loose, const double *load, const Voice *voice, Fault *fault);

#endif
