/* Tiling solver: the cheapest tiling of one region, or one close to it, and a proven bound. */
#ifndef ROWLOCK_BRICKS_TILING_TILING_SOLVER_H
#define ROWLOCK_BRICKS_TILING_TILING_SOLVER_H

#include "bricks/tiling/profile_dp.h"
#include "bricks/tiling/region.h"
#include "bricks/tiling/window_search.h"

typedef struct TilingSolveOptions {
    double effort;        /* 0 to 1 */
    const int32_t *below; /* by cell of the layer: which brick lies under it; NULL: none */
    bool cover;           /* all is tried to leave no cell bare */
} TilingSolveOptions;

typedef struct TilingSolution {
    int32_t *tiling; /* by cell: the place that starts here, or -1; owned */
    int32_t *dual;   /* by cell, see tiling_duals.h; owned */
    int64_t cost;    /* of all places, in units of SHAPE_ONE */
    int64_t bound;   /* no tiling of the region costs less */
    int32_t bare;    /* cells that no place covers */
    bool settled;    /* it is proven that not fewer can be left bare */
    int64_t work;    /* profiles made by searches, steps of duals times cells */
} TilingSolution;

/* dp: scratch, of one thread. */
Status tiling_solve(TilingSolution *solution_out, const Region *region, ProfileDp *dp,
                    const TilingSolveOptions *options, Fault *fault);
void tiling_solution_clear(TilingSolution *solution);

/* What makes a tiling that costs the same the better: one of bias and tie_break. */
typedef struct TilingPreference {
    double effort;                   /* 0 to 1 */
    const int32_t *dual;             /* by cell, as solved */
    const bool *seed;                /* by cell: the tiling is laid anew around these */
    const int32_t *bias;             /* by place: see WindowTask */
    const WindowTieBreak *tie_break; /* see WindowTask; windows are small and laid by lot */
} TilingPreference;

/* Lays a tiling anew where that is preferred and costs no more. */
Status tiling_solve_again(int32_t *tiling, const Region *region, ProfileDp *dp,
                          const TilingPreference *preference, Fault *fault);

/* The bound alone, and the duals that prove it, by cell; not as high as it might be once the voice
 * is stopped. */
Status tiling_solve_bound(int64_t *bound_out, int32_t *dual_out, const Region *region,
                          double effort, const Voice *voice, Fault *fault);

/* How a region is laid whose duals are known. */
typedef struct TilingSearch {
    const int32_t *dual;  /* by cell: no place costs less than its cells are worth */
    const int32_t *start; /* a tiling that it starts from; NULL: none */
    int32_t most;         /* profiles that the search may keep */
} TilingSearch;

/* Lays a region, each of whose places may cost otherwise than when its duals were found. */
Status tiling_solve_priced(TilingSolution *solution_out, const Region *region, ProfileDp *dp,
                           const TilingSearch *search, Fault *fault);

#endif
