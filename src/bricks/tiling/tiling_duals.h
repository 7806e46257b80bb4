/* Tiling duals: what each cell of a region is worth, so that no place in it can be filled for
 * less than its cells are worth together. The worth of the whole region is then a
 * proven lower bound of what tiling it costs, and the cost of a place less the worth of
 * its cells, its surplus, tells how far it is from belonging to a best tiling: the
 * surpluses of a tiling add up to its distance from the bound.
 *
 * These are the dual prices of the set partitioning linear program (methods of
 * Dantzig and Wolfe's kind need them exactly; here any that keep the rule will do).
 * They are found by the primal-dual hybrid gradient method (Chambolle and Pock 2011,
 * J. Math. Imaging Vis. 40:120-145) with diagonal steps (Pock and Chambolle 2011,
 * ICCV), each step taken twice and drawn back to where the iteration started, which
 * starts anew from time to time (Halpern 1967, Bull. AMS 73:957-961; with restarts and
 * reflection Lu and Yang 2024, arXiv:2407.16144); in single precision, and then made to
 * keep the rule exactly in whole numbers. */
#ifndef ROWLOCK_BRICKS_TILING_TILING_DUALS_H
#define ROWLOCK_BRICKS_TILING_TILING_DUALS_H

#include "bricks/tiling/region.h"

typedef struct TilingDuals TilingDuals;

Status tiling_duals_create(TilingDuals **price_out, const Region *region, Fault *fault);
void tiling_duals_free(TilingDuals *price);

/* Takes the method some steps further. */
void tiling_duals_improve(TilingDuals *price, int steps);

/* The prices reached, made to keep the rule; worth[cell] in units of SHAPE_ONE. Returns their
 * sum. */
int64_t tiling_duals_settle(TilingDuals *price, int32_t *worth);

/* The surplus of each place at the prices last settled. */
const int32_t *tiling_duals_surplus(const TilingDuals *price);

/* How little the method uses each place, 0 to full: near the optimum it lays, in parts, what
 * the best tilings have in common, and a search does well to try that first. */
void tiling_duals_idle(const TilingDuals *price, int32_t full, int32_t *idle);

/* Work of one step, in visits of a shape to a cell. */
int64_t tiling_duals_effort(const TilingDuals *price);

#endif
