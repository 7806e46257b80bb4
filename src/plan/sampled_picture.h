/* Sampled picture: the reference as an image of cells, and what a plan tells of it. */
#ifndef ROWLOCK_PLAN_SAMPLED_PICTURE_H
#define ROWLOCK_PLAN_SAMPLED_PICTURE_H

#include "figures/mural.h"
#include "model/grid.h"
#include "model/image.h"
#include "plan/brief.h"
#include "relief/depth.h"

typedef struct SampledPicture {
    DepthFrame frame; /* which part of the picture the cells show */
    Image image;      /* one colour a cell */
    Image fine;       /* several pixels a cell each way, where outlines are sought; else empty */
    Reference reference;
} SampledPicture;

/* Reads the job's reference. own: the user's cells, whose size counts, or empty. Fault: not
 * what the bricks that stand were planned from. sampled_picture_clear also after a fault. */
Status sampled_picture_init(SampledPicture *picture_out, const Brief *brief, const Grid *own,
                            Fault *fault);
void sampled_picture_clear(SampledPicture *picture);

#endif
