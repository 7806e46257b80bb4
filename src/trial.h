/* Trial: lays a face while its colours are still being chosen, so that these are chosen
 * by what bricks they save. */
#ifndef ROWLOCK_TRIAL_H
#define ROWLOCK_TRIAL_H

#include "lay.h"
#include "look.h"

#include <stdbool.h>

typedef struct Trial {
    Solid solid; /* flat; its grid does not count */
    const Sizes *sizes;
    const Panels *panels;
    LayOptions options; /* at no effort, without proof */
    bool costed;
    double cost[SIZES_MOST]; /* of a brick of each size against their mean, where costed */
    const Voice *voice;
} Trial;

/* All is borrowed. */
void trial_init(Trial *trial, const Solid *solid, const Sizes *sizes, const Panels *panels,
                const LayOptions *options, const Voice *voice);

/* To be asked by the search. */
LookLayer trial_layer(Trial *trial);

#endif
