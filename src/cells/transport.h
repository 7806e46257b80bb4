/* Transport: a colour for each cell where there is only so much of each colour, at the
 * least cost in all.
 *
 * A transportation problem: every cell takes one colour, no colour is taken more often
 * than its limit. The answer is an optimum, not near one: it comes with prices of the
 * colours that prove it (linear programming duality). */
#ifndef ROWLOCK_CELLS_TRANSPORT_H
#define ROWLOCK_CELLS_TRANSPORT_H

#include "base/status.h"
#include "base/voice.h"
#include "model/image.h"
#include "model/palette.h"

#include <stddef.h>
#include <stdint.h>

/* Costs are whole, so that sums are exact: TRANSPORT_UNIT is a difference of 1. */
enum { TRANSPORT_UNIT = 256, TRANSPORT_NEVER = UINT16_MAX, TRANSPORT_WEIGHT_MOST = 10000 };

typedef struct Transport {
    size_t cells;
    int colours;          /* 1 to PALETTE_MOST */
    const uint16_t *cost; /* cells x colours; TRANSPORT_NEVER: not to be taken there; each cell may
                             take one at least */
    const long *limit;    /* cells of each colour, -1: any number */
    const uint16_t *weight; /* times that a cell's costs count, 1 to TRANSPORT_WEIGHT_MOST; NULL:
                               once each */
} Transport;

/* Fills colour_out[cells]. price_out, where it is not NULL, gets one price a colour, 0
 * where the limit is not reached: each cell has the colour whose cost, weighed, and price are least
 * together, and no other choice within the limits costs less. Fault: the limits leave too
 * few cells, or too few of what some may take. */
Status transport_solve(const Transport *problem, uint8_t *colour_out, int64_t *price_out,
                       const Voice *voice, Fault *fault);

/* Bytes that transport_solve takes beside the problem and its answer. */
double transport_bytes(size_t cells, int colours);

/* CIEDE2000 of every cell to every colour in TRANSPORT_UNITs, below TRANSPORT_NEVER, to half a unit
 * and 1 part in 1000; the caller frees it. A voice that is stopped, NULL: none, is a fault. */
Status transport_costs(const Image *image, const Palette *palette, int threads, const Voice *voice,
                       uint16_t **cost_out, Fault *fault);

#endif
