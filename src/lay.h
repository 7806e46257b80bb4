/* Lay: fills the solid with bricks of the brick set, panel by panel. */
#ifndef ROWLOCK_LAY_H
#define ROWLOCK_LAY_H

#include "grid.h"
#include "laid.h"
#include "panel.h"
#include "sizes.h"
#include "voice.h"

typedef struct LayOptions {
    int threads;        /* never changes the result */
    double effort;      /* 0 quick to 1 thorough; work, not seconds, so it is repeatable */
    int fill;           /* palette index for backing that nothing else decides */
    const double *cost; /* price of one brick of each size, >= 0; NULL: every brick costs 1 */
} LayOptions;

#define LAY_OPTIONS_DEFAULT ((LayOptions){.threads = 1, .effort = 0.5, .fill = 0, .cost = NULL})

/* What laying can say of itself. */
typedef struct LayReport {
    size_t bricks;
    double lower_bound; /* proven: no laying of this solid in these panels has fewer bricks */
} LayReport;

/* Appends the bricks to *laid_out (initialised by the caller to {0}) in building order.
 * Fault: a cell that no brick of the set can cover, named by column and row (from 1). */
Status lay(const Solid *solid, const Sizes *sizes, const Panels *panels, const LayOptions *options,
           Laid *laid_out, LayReport *report_out, const Voice *voice, Fault *fault);

#endif
