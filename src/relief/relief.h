/* Relief: from depth to steps, the tiers that each cell stands out.
 *
 * Depth is stretched to 0 (farthest) to 1 (nearest), compressed by a logarithm, smoothed
 * under the guidance of the picture, cut into levels with hysteresis and cleaned. It is
 * never dithered: a single raised cell reads as noise under raking light and needs a
 * 1x1 brick. Cells are columns x rows of the guide, row 0 at the bottom. */
#ifndef ROWLOCK_RELIEF_RELIEF_H
#define ROWLOCK_RELIEF_RELIEF_H

#include "base/status.h"
#include "base/voice.h"
#include "model/grid.h"
#include "model/image.h"

#include <stdbool.h>
#include <stdint.h>

typedef struct ReliefOptions {
    int steps;          /* of the nearest cell, 1 to RELIEF_STEPS_MOST */
    double curve;       /* strength of the compression: 0 none; the more, the more of the range
                           goes to what is near */
    int smooth;         /* radius of the guided filter, cells; 0 leaves it out */
    double contrast;    /* of the guide, above which there is an edge; CIELAB's unit / 100 */
    int trench;         /* trenches of up to twice this many cells' width are closed beforehand */
    int islands;        /* islands and pits of fewer cells are closed */
    int jump;           /* the most steps between neighbours; 0 for any */
    bool whole;         /* depth that is of whole steps already is taken as it is */
    int threads;        /* at least 1; never changes the result */
    const Voice *voice; /* asked whether to stop; NULL: nobody is */
} ReliefOptions;

/* contrast^2 is the guided filter's epsilon: He, Sun and Tang use 0.02^2 to 0.1^2 for a guide of
 * 0 to 1. The other values are a choice, no source. */
#define RELIEF_OPTIONS_DEFAULT                                                                     \
    ((ReliefOptions){.steps = 6,                                                                   \
                     .curve = 0,                                                                   \
                     .smooth = 3,                                                                  \
                     .contrast = 0.05,                                                             \
                     .trench = 0,                                                                  \
                     .islands = 6,                                                                 \
                     .jump = 0,                                                                    \
                     .whole = false,                                                               \
                     .threads = 1,                                                                 \
                     .voice = NULL})

/* Fills steps_out, one for each cell of the guide.
 *
 * depth: any finite numbers, larger is nearer; NULL: the guide's L*. mask: cells below 0.5
 * stand at 0, all others at 1 and more; NULL: the whole face, whose farthest cells stand
 * at 0. Where depth is the same everywhere, nothing is raised, or all of the mask as far
 * as can be. Fault: no memory. */
Status relief_steps(const ReliefOptions *options, const Image *guide, const float *depth,
                    const float *mask, uint8_t *steps_out, Fault *fault);

/* A depth and a mask, one number a cell each, as for relief_steps; mask may be NULL. */
typedef struct ReliefMap {
    size_t cells;
    const float *depth, *mask;
} ReliefMap;

/* Whether relief_steps takes a depth as it is: most of what stands out does so by k / steps for
 * whole k, of 1 or of the depth's own range. */
bool relief_is_whole(const ReliefOptions *options, const ReliefMap *map);

/* The depth that relief_steps cuts into steps: stretched, compressed and smoothed, 0 to 1, one
 * number for each cell of the guide; all 0 where it has no range. */
Status relief_depth(const ReliefOptions *options, const Image *guide, const float *depth,
                    float *depth_out, Fault *fault);

/* L* of each cell; turned over if dark is to be near. */
void relief_luminance(const Image *image, bool dark_is_near, float *depth_out);

#endif
