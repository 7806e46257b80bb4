/* Laying: what the user may ask of the layer, and what it says of its work. */
#ifndef ROWLOCK_MODEL_LAYING_H
#define ROWLOCK_MODEL_LAYING_H

#include "model/grid.h"
#include "model/laid.h"
#include "model/panel.h"
#include "model/sizes.h"

#include <math.h>
#include <stdbool.h>
#include <stddef.h>

/* What is to be laid: a solid, cut into panels, and the sizes of bricks there are. Borrowed. */
typedef struct LayTask {
    const Solid *solid;
    const Panels *panels;
    const Sizes *sizes;
} LayTask;

typedef struct LayOptions {
    int threads;   /* never changes the result */
    double effort; /* 0 quick to 1 thorough; work, not seconds, so it is repeatable */
    int fill;      /* palette index for backing that nothing else decides */
    /* Cost of one brick of each size, >= 0; the sum is made least. INFINITY: the size is not
     * used. NULL: every brick costs 1. */
    const double *cost;
    bool unproven; /* no bound is looked for; those of LayReport are worth nothing */
    bool regular;  /* of tilings that cost the same one with few crossings is taken */
    /* Bricks that stand, in building order; NULL: none. Only what they leave is laid, around
     * them; in a wall they fill whole courses, each panel's lowest, and in a plaque that leaves
     * something out, whole panels where it does. */
    const Laid *standing;
    /* Bricks that a plaque's tiers are laid around, so that they bind what stands out; each is laid
     * unless its size is not used, or the solid, its colours, the core or an earlier one of them
     * are in its way. NULL: none. The bounds are those without them. */
    const Laid *ties;
} LayOptions;

#define LAY_OPTIONS_DEFAULT                                                                        \
    ((LayOptions){.threads = 1,                                                                    \
                  .effort = 0.5,                                                                   \
                  .fill = 0,                                                                       \
                  .cost = NULL,                                                                    \
                  .unproven = false,                                                               \
                  .regular = false,                                                                \
                  .standing = NULL,                                                                \
                  .ties = NULL})

typedef struct LayReport {
    size_t bricks;
    /* Proven: no laying of this solid in these panels around what stands has fewer bricks, with
     * those that stand; for a wall two and more thick, none without an avoidable joint in line
     * over three courses (see lay_wall.h). */
    double lower_bound;
    double lower_cost; /* the same for the sum of LayOptions.cost; 0 where that is NULL */
} LayReport;

/* What the bricks come to; 0 where either is NULL. */
static inline double lay_cost_of(const Laid *laid, const double *cost)
{
    double sum = 0;
    for (size_t i = 0; laid && cost && i < laid->count; i++) sum += cost[laid->brick[i].size];
    return sum;
}

/* What filling one unit costs at least; cost as in LayOptions, 0 where it is NULL. */
static inline double lay_unit_cost(const Sizes *sizes, const double *cost)
{
    double least = INFINITY;
    for (int i = 0; cost && i < sizes->count; i++)
        least = fmin(least, cost[i] / (sizes->size[i].width * sizes->size[i].length));
    return isfinite(least) ? least : 0;
}

#endif
