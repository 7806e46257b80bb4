/* Trial lay: lays a face while its colours are still being chosen, so that these are chosen
 * by what bricks they save. */
#ifndef ROWLOCK_PLAN_TRIAL_LAY_H
#define ROWLOCK_PLAN_TRIAL_LAY_H

#include "bricks/lay.h"
#include "cells/look.h"

#include <stdbool.h>

typedef struct TrialLay {
    Solid solid; /* flat; its grid does not count */
    const Sizes *sizes;
    const Panels *panels;
    LayOptions options; /* at no effort, without proof */
    bool costed;
    double cost[SIZES_MOST]; /* of a brick of each size against their mean, where costed */
    const Voice *voice;
} TrialLay;

/* All is borrowed. */
void trial_lay_init(TrialLay *trial, const Solid *solid, const Sizes *sizes, const Panels *panels,
                    const LayOptions *options, const Voice *voice);

/* To be asked by the search. */
LookLayer trial_lay_layer(TrialLay *trial);

#endif
