/* Nearest face: the colour nearest to each cell, of those that it may take. */
#ifndef ROWLOCK_CELLS_NEAREST_FACE_H
#define ROWLOCK_CELLS_NEAREST_FACE_H

#include "base/status.h"
#include "base/voice.h"
#include "model/grid.h"
#include "model/image.h"
#include "model/palette.h"

typedef struct NearestTask {
    const Image *target;
    const Palette *palette;
    Keep keep;   /* cells that are kept get the nearest colour, too: the caller has theirs */
    int threads; /* never changes the result */
    const Voice *voice;
} NearestTask;

/* By CIEDE2000, ties to the lower index. grid has the target's size. Every region leaves a colour.
 * Faults: no memory; stopped. */
Status nearest_face(const NearestTask *task, Grid *grid, Fault *fault);

#endif
