/* Fit stock: a laying changed until it takes no more of a colour than the stock has, and as
 * much as can be of what the stock has in its size. */
#ifndef ROWLOCK_PLAN_FIT_STOCK_H
#define ROWLOCK_PLAN_FIT_STOCK_H

#include "model/image.h"
#include "plan/lay_solid.h"

/* Chooses colours and lays again until no colour is overdrawn. body is that of the task. Fault:
 * the user's own cells, or the stock for any choice of colours, overdraw one. */
Status lay_within_stock(const PassTask *task, const Image *target, Body *body, Laying *laying,
                        Fault *fault);

/* Breaks up and recolours bricks as far as the job allows, to use sizes that are there. */
Status fit_sizes_to_stock(const PassTask *task, const Image *target, Body *body, Laying *laying,
                          Fault *fault);

#endif
