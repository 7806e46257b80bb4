/* Window search: betters a tiling by taking it apart in one small window after the other and
 * laying each anew, at best: a large neighbourhood search.
 *
 * A tiling is an array by cell of a region: the place (see region.h) that has its first cell there,
 * or -1. */
#ifndef ROWLOCK_BRICKS_TILING_WINDOW_SEARCH_H
#define ROWLOCK_BRICKS_TILING_WINDOW_SEARCH_H

#include "bricks/tiling/profile_dp.h"
#include "bricks/tiling/region.h"

/* What makes one of two tilings of the same cost the better, however it was found. */
typedef struct WindowTieBreak {
    const void *context;
    /* Defects that the cells of a window have or touch; owner: by cell of the region, the first
     * cell of its place. */
    int32_t (*defects)(const void *context, const Region *region, const int32_t *owner,
                       const int32_t *window, int32_t cells);
} WindowTieBreak;

typedef struct WindowTask {
    const Region *region;
    const int32_t *reduced_cost; /* of each place, >= 0; see tiling_duals.h */
    int passes;                  /* over the region */
    int32_t cells;               /* of a window, or a few more */
    int32_t most;                /* profiles that a search may keep */
    /* Which of places that are equally good is preferred: 0 to WINDOW_BIAS, the less the better; by
     * place. NULL: drawn by lot, afresh in each pass. */
    const int32_t *bias;
    const int32_t *idle; /* added to that, see tiling_duals.h; NULL: none */
    /* Windows with defects are laid so that they have fewer; NULL: all windows are laid. */
    const WindowTieBreak *tie_break;
    const bool *seed; /* by cell: windows are opened around these alone; NULL: all */
} WindowTask;

enum { WINDOW_BIAS = SHAPE_ONE / 16 };

/* Ends early once the tiling is proven the best. Adds its work (profiles made) to *work. */
Status window_search(const WindowTask *task, ProfileDp *dp, int32_t *tiling, int64_t *work,
                     Fault *fault);

#endif
