/* Heights: how far each cell stands out, from the outlines and forms of its layers.
 *
 * A layer reaches over its own cells and those of all that stands on it. Over that region M
 *
 *     rounded   -laplacian u + u / l^2 = 4, u = 0 outside, no flux through the picture's border;
 *               H = e + (h - e) sqrt(u / max u): a half ellipsoid over a disc, levelling off
 *               l cells from the outline (after Gorelick et al., Poisson shapes, IEEE TPAMI
 *               28(12), 2006, from memory)
 *     slope,    H = e + (h - e) min(1, (d - 1/2) / l); H = h where l is 0, as it is for a plateau
 *     plateau   that says no rise
 *     relief    H = e + (h - e) z, with the job's own depth stretched to 0 to 1 over the layer
 *
 * with h the layer's height, l its rise, d the distance to the nearest cell outside, and e the
 * height at the outline: 1 on the ground and 1/2 on another layer, or 0 where the edge is soft.
 * Heights add up from what a layer stands on. */
#ifndef ROWLOCK_LAYERS_HEIGHTS_H
#define ROWLOCK_LAYERS_HEIGHTS_H

#include "base/voice.h"
#include "layers/layer_list.h"

#include <stddef.h>

typedef struct HeightsInput {
    const LayerList *list;
    int columns, rows;
    const uint8_t *label; /* of each cell */
    const float *L;       /* CIELAB's, of each cell, for texture */
    const float *depth;   /* 0 to 1, for PROFILE_RELIEF; NULL: none of it */
} HeightsInput;

/* Steps of each cell, not rounded. */
Status heights_solve(const HeightsInput *input, int threads, float *height_out, const Voice *voice,
                     Fault *fault);

/* What rounding makes of them, `most` at most. *over_out, LAYERS_MOST numbers, counts the cells
 * of each layer that were cut off. */
void heights_round(const HeightsInput *input, const float *height, int most, uint8_t *steps_out,
                   size_t over_out[LAYERS_MOST]);

#endif
