/* Frame: how many cells the mural has, and which part of the picture they show. */
#ifndef ROWLOCK_PLAN_FRAME_H
#define ROWLOCK_PLAN_FRAME_H

#include "model/grid.h"
#include "picture/source.h"
#include "plan/brief.h"
#include "relief/depth.h"

/* Cells that the job asks for each way, 0 where it does not say. */
double frame_columns(const Brief *brief);
double frame_rows(const Brief *brief);

/* own: cells that have a size of their own, or empty. Faults: a crop that reaches outside the
 * picture, more cells than GRID_MOST each way. */
Status frame_fit(DepthFrame *frame_out, const Brief *brief, const Grid *own, const Source *source,
                 Fault *fault);

#endif
