/* Tiling solver: the cheapest tiling of one region, or one close to it, and a proven bound.
 *
 * Small regions are searched outright. For others prices are found (tiling_duals.h), which
 * bound the cost and guide a search of the whole region (profile_dp.h), exact where it is
 * narrow or the prices good; what is left to gain is mended window by window
 * (window_search.h). It ends as soon as the cost is proven the least. */
#ifndef ROWLOCK_BRICKS_TILING_TILING_SOLVER_H
#define ROWLOCK_BRICKS_TILING_TILING_SOLVER_H

#include "bricks/tiling/profile_dp.h"
#include "bricks/tiling/region.h"
#include "bricks/tiling/window_search.h"

typedef struct TilingSolveOptions {
    double effort;        /* 0 to 1 */
    const int32_t *below; /* by cell of the layer: which brick lies under it; NULL: none */
    bool cover;           /* no pains are spared to leave no cell bare */
} TilingSolveOptions;

typedef struct TilingSolution {
    int32_t *tiling; /* by cell: the place that starts here, or -1; owned */
    int32_t *worth;  /* by cell: the price it ended with, see tiling_duals.h; owned */
    int64_t cost;    /* of all places, in units of SHAPE_ONE */
    int64_t bound;   /* no tiling of the region costs less */
    int32_t bare;    /* cells that no place covers */
    bool settled;    /* it is proven that not fewer can be left bare */
    int64_t work;    /* profiles made by searches, steps of prices times cells */
} TilingSolution;

Status tiling_solve(TilingSolution *solution_out, const Region *region, ProfileDp *search,
                    const TilingSolveOptions *options, Fault *fault);
void tiling_solution_clear(TilingSolution *solution);

/* Lays a tiling anew around the cells of seed where it costs no more, with places of little
 * bias (see window_search.h); worth: of its cells, as solved. */
Status tiling_solve_again(int32_t *tiling, const Region *region, ProfileDp *search, double effort,
                          const int32_t *worth, const int32_t *bias, const bool *seed,
                          Fault *fault);

/* The same to the taste of the caller; small windows are laid by lot. */
Status tiling_solve_to_taste(int32_t *tiling, const Region *region, ProfileDp *search,
                             double effort, const int32_t *worth, const WindowTaste *taste,
                             const bool *seed, Fault *fault);

/* The bound alone. */
Status tiling_solve_bound(int64_t *bound_out, const Region *region, double effort, Fault *fault);

#endif
