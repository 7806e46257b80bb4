/* Mend: betters a tiling by taking it apart in one small window after the other and
 * laying each anew, at best.
 *
 * A tiling is an array by cell of a region: the place (see region.h) that has its
 * first cell there, or -1. The surpluses (see price.h) tell where there is something
 * to gain. A window laid anew with the same surplus, but otherwise, is taken too: that
 * moves what is left to gain about, until it comes together in one window. Which of
 * the equal ones is taken is told by a bias of each place, drawn afresh for each pass. */
#ifndef ROWLOCK_MEND_H
#define ROWLOCK_MEND_H

#include "region.h"
#include "search.h"

/* What makes one of two tilings of the same cost the better, however it was found. */
typedef struct MendTaste {
    const void *context;
    /* Blemishes that the cells of a window have or touch; owner: by cell of the region, the
     * first cell of its place. */
    int32_t (*blemishes)(const void *context, const Region *region, const int32_t *owner,
                         const int32_t *window, int32_t cells);
} MendTaste;

typedef struct MendOptions {
    int passes;    /* over the region */
    int32_t cells; /* of a window, or a few more */
    int32_t most;  /* profiles that a search may keep */
    /* What of places that are equally good is preferred: 0 to MEND_BIAS, the less the
     * better; by place. NULL: drawn by lot, from the pass. */
    const int32_t *idle; /* added besides, see price.h; NULL: none */
    const int32_t *bias;
    const MendTaste *taste; /* windows with blemishes are laid so that they have fewer; or NULL */
    const bool *seed;       /* by cell: windows are opened around these alone; NULL: all */
} MendOptions;

enum { MEND_BIAS = SHAPE_ONE / 16 };

/* Ends early once the tiling is proven the best. Adds its work to *work. */
Status mend(const Region *region, Search *search, const int32_t *surplus,
            const MendOptions *options, int32_t *tiling, int64_t *work, Fault *fault);

/* Surplus of a place, with what is added where it is a cell left bare. */
int64_t mend_surplus(const Region *region, const int32_t *surplus, int32_t place);

#endif
