/* Studio: what there is to build with: colours, sizes, stock, and the bricks that stand. */
#ifndef ROWLOCK_PLAN_STUDIO_H
#define ROWLOCK_PLAN_STUDIO_H

#include "base/digest.h"
#include "model/laid.h"
#include "model/palette.h"
#include "model/sizes.h"
#include "model/stock.h"
#include "plan/brief.h"

typedef struct Studio {
    Palette palette; /* the colours to be had come first; then those that only what stands has */
    Palette offered; /* the first of them: all that are to be had */
    Sizes sizes;
    Stock stock;              /* empty where none is given */
    long units[PALETTE_MOST]; /* in stock, of each colour */
    Laid built;               /* the bricks that stand, in this palette and set, in order */
} Studio;

/* Reads the job's palette, brick set and stock; others says what a stock's colour is that the
 * palette does not have. studio_clear also after a fault. */
Status studio_init(Studio *studio_out, const Brief *brief, StockColours others, Fault *fault);
void studio_clear(Studio *studio);

/* A digest of all but prices and stock, which most do not ask for. Fault: no memory. */
Status studio_digest(const Studio *studio, char text_out[DIGEST_TEXT], Fault *fault);

/* What a brick of each size costs to buy and to lay, where the job favours cost and gives a
 * price or a rate: returns cost_out. Else NULL, for every brick alike; cost_out is filled in
 * all the same. */
const double *brick_costs(const Job *job, const Sizes *sizes, double cost_out[SIZES_MOST]);

#endif
