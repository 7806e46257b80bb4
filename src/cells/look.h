/* Look: chooses the cells for the eye at its distance, and counts the bricks while it
 * does.
 *
 * Direct binary search (Analoui & Allebach 1992, SPIE 1666:96-108) for any palette: cells
 * change one by one, and a few at a time, while that lowers
 *     what reaches the eye (see eye/perceived_error.h) + a price on bricks + a share of what
 * is seen close by, the last so that edges, lettering and faces stay crisp. A lone cell that cannot
 * be seen from the distance costs a brick or more and so gives way. A cell may take any colour of
 * the palette, so the colours need not be separable inks. */
#ifndef ROWLOCK_CELLS_LOOK_H
#define ROWLOCK_CELLS_LOOK_H

#include "base/status.h"
#include "base/voice.h"
#include "cells/face_bricks.h"
#include "cells/initial_face.h"
#include "cells/merge_bricks.h"
#include "eye/eye.h"
#include "model/grid.h"
#include "model/image.h"
#include "model/palette.h"

/* How a face is laid while colours are still chosen, quickly. A fault of STATUS_DATA: it
 * cannot be laid as it is. */
typedef struct LookLayer {
    void *self;
    Status (*lay)(void *self, const Grid *grid, FaceBricks *bricks_out, Fault *fault);
    const Sizes *sizes;
    const double *cost; /* see BrickMerging */
} LookLayer;

typedef struct LookOptions {
    Viewpoint viewpoint;
    Build build;       /* of a wall only joints along a course cost a brick */
    double thrift;     /* 0 the look alone, to 1 the fewest bricks, about evenly */
    double detail;     /* weight of what is seen close by, 0 to 1 */
    double calm;       /* weight of contrast and chroma that the picture has not, 0 to 1 */
    const long *limit; /* the most cells of each colour beside those that are kept, -1: no limit;
                          NULL: none has one */
    Keep keep;         /* bricks with cells that are kept, and what they show, count */
    CellWeights weights;
    InitialFace start;      /* INITIAL_FACES: the best of all */
    const LookLayer *layer; /* NULL: bricks are guessed at alone */
    int linearisations;     /* how often the difference is linearised anew, 0 to 8 */
    int sweeps;             /* at most, 1 to 100 */
    int threads;            /* never changes the result */
    const Voice *voice;     /* NULL: nobody listens */
} LookOptions;

#define LOOK_OPTIONS_DEFAULT                                                                       \
    ((LookOptions){.viewpoint = {8.0, 8.0, 5000.0},                                                \
                   .build = BUILD_PLAQUE,                                                          \
                   .thrift = 0.4,                                                                  \
                   .detail = 0.2,                                                                  \
                   .calm = 0.4,                                                                    \
                   .limit = NULL,                                                                  \
                   .start = INITIAL_FACES,                                                         \
                   .layer = NULL,                                                                  \
                   .linearisations = 1,                                                            \
                   .sweeps = 10,                                                                   \
                   .threads = 1})

typedef struct LookReport {
    double objective; /* from scratch, by the last linearisation */
    double followed;  /* the same, followed change by change in single precision */
    double price;     /* of what bricks are guessed by, as it came out (brick_guess.h) */
    InitialFace start;
    double score[INITIAL_FACES]; /* of each start, where they were tried */
    double price_brick;          /* what a merged brick is worth; 0 where no layer was asked */
    long changes;
    int sweeps;
} LookReport;

/* Fills grid->colour (of the target's size); what it holds before, but for cells that are
 * kept, does not count. report_out may be NULL. Faults: the limits leave too few cells; stopped;
 * no memory. */
Status look_search(const Image *target, const Palette *palette, const LookOptions *options,
                   Grid *grid, LookReport *report_out, Fault *fault);

/* A face that was found for the same target and options, where other things were asked of single
 * cells. All is borrowed. */
typedef struct LookBefore {
    const uint8_t *colour; /* NULL: there is none */
    const bool *changed;   /* cells of which something else is asked now */
} LookBefore;

/* A first face, soon there: as far as the search comes in one sweep from the nearest colours or,
 * where there is a face from before, from that, about the cells that changed. Limits and layer do
 * not count. Else as look_search. */
Status look_sketch(const Image *target, const Palette *palette, const LookOptions *options,
                   const LookBefore *before, Grid *grid, Fault *fault);

#endif
