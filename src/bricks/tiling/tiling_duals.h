/* Tiling duals: what each cell of a region is worth, so that no place in it can be filled for
 * less than its cells are worth together.
 *
 * These are feasible duals of the set partitioning linear program. Their sum is a proven lower
 * bound of what tiling the region costs. The cost of a place less the duals of its cells, its
 * reduced cost, tells how far it is from belonging to a best tiling: the reduced costs of a tiling
 * add up to its distance from the bound. */
#ifndef ROWLOCK_BRICKS_TILING_TILING_DUALS_H
#define ROWLOCK_BRICKS_TILING_TILING_DUALS_H

#include "base/voice.h"
#include "bricks/tiling/region.h"

typedef struct TilingDuals TilingDuals;

Status tiling_duals_create(TilingDuals **duals_out, const Region *region, Fault *fault);
void tiling_duals_free(TilingDuals *duals);

/* Takes the method some steps further; fewer once the voice is stopped, NULL: nobody does. */
void tiling_duals_improve(TilingDuals *duals, int steps, const Voice *voice);

/* The duals reached, made feasible; dual[cell] in units of SHAPE_ONE. Returns their sum. */
int64_t tiling_duals_make_feasible(TilingDuals *duals, int32_t *dual);

/* The reduced cost of each place at the duals last made feasible, >= 0. */
const int32_t *tiling_duals_reduced_costs(const TilingDuals *duals);

/* By place: `full` x (1 - its primal, which is 0 to 1). Near the optimum the primals tell what the
 * best tilings have in common, in parts, and a search does well to try places that are used
 * first. */
void tiling_duals_idle(const TilingDuals *duals, int32_t full, int32_t *idle);

/* Work of one step, in visits of a shape to a cell. */
int64_t tiling_duals_effort(const TilingDuals *duals);

#endif
