/* Splitting: forces that balance a weight and that joints hold with less of what they can, where
 * springs say too much. */
#ifndef ROWLOCK_CLUTCH_SPLITTING_H
#define ROWLOCK_CLUTCH_SPLITTING_H

#include "clutch/demand.h"

/* The least share found so that the weight is borne in every way that it acts; for any way, the
 * root of the sum of squares of what is found along the three axes, each the worse of both ways. It
 * ends once that is `enough`, or gains nothing more; INFINITY where no forces were found that
 * balance. As good a proof as springs give, and not always a better one. The springs are as they
 * were set. Faults: no memory; stopped. */
Status splitting_find(const Demand *demand, Springs *springs, double enough, DemandUse *found_out,
                      Fault *fault);

#endif
