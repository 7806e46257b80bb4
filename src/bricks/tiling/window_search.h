/* Window search: betters a tiling by taking it apart in one small window after the other and
 * laying each anew, at best.
 *
 * A tiling is an array by cell of a region: the place (see region.h) that has its
 * first cell there, or -1. The surpluses (see tiling_duals.h) tell where there is something
 * to gain. A window laid anew with the same surplus, but otherwise, is taken too: that
 * moves what is left to gain about, until it comes together in one window. Which of
 * the equal ones is taken is told by a bias of each place, drawn afresh for each pass. */
#ifndef ROWLOCK_BRICKS_TILING_WINDOW_SEARCH_H
#define ROWLOCK_BRICKS_TILING_WINDOW_SEARCH_H

#include "bricks/tiling/profile_dp.h"
#include "bricks/tiling/region.h"

/* What makes one of two tilings of the same cost the better, however it was found. */
typedef struct WindowTaste {
    const void *context;
    /* Blemishes that the cells of a window have or touch; owner: by cell of the region, the
     * first cell of its place. */
    int32_t (*blemishes)(const void *context, const Region *region, const int32_t *owner,
                         const int32_t *window, int32_t cells);
} WindowTaste;

typedef struct WindowOptions {
    int passes;    /* over the region */
    int32_t cells; /* of a window, or a few more */
    int32_t most;  /* profiles that a search may keep */
    /* What of places that are equally good is preferred: 0 to WINDOW_BIAS, the less the
     * better; by place. NULL: drawn by lot, from the pass. */
    const int32_t *idle; /* added besides, see tiling_duals.h; NULL: none */
    const int32_t *bias;
    const WindowTaste *taste; /* windows with blemishes are laid so that they have fewer; or NULL */
    const bool *seed;         /* by cell: windows are opened around these alone; NULL: all */
} WindowOptions;

enum { WINDOW_BIAS = SHAPE_ONE / 16 };

/* Ends early once the tiling is proven the best. Adds its work to *work. */
Status window_search(const Region *region, ProfileDp *search, const int32_t *surplus,
                     const WindowOptions *options, int32_t *tiling, int64_t *work, Fault *fault);

/* Surplus of a place, with what is added where it is a cell left bare. */
int64_t window_search_surplus(const Region *region, const int32_t *surplus, int32_t place);

#endif
