/* Match: the nearest colour of a palette by CIEDE2000, exactly.
 *
 * All of these give what a plain loop with delta_e_2000 over the palette gives, ties to the lower
 * index, for every Lab; they only get there faster, the more so the more is asked at once. */
#ifndef ROWLOCK_CELLS_MATCH_H
#define ROWLOCK_CELLS_MATCH_H

#include "base/status.h"
#include "base/voice.h"
#include "model/grid.h"
#include "model/image.h"
#include "model/palette.h"

/* The nearest colours of many. Fault: no memory. */
Status match_all(const Palette *palette, const Lab *lab, int count, uint8_t *nearest_out,
                 Fault *fault);

typedef struct MatchTask {
    const Palette *palette;
    const Image *image;
    const uint8_t *region; /* rows x columns: only cells of region `number` are asked for, the */
    int number;            /* others' colours are left as they are; NULL: all are */
    int threads;           /* never changes the result */
    const Voice *voice;    /* NULL: nobody listens */
} MatchTask;

/* The nearest colour of every cell into grid->colour; grid has the image's size. Takes 0.2 to
 * 4 MiB a thread. Faults: no memory; stopped. */
Status match_image(const MatchTask *task, Grid *grid, Fault *fault);

#endif
