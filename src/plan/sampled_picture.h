/* Sampled picture: the reference as an image of cells, and what a plan tells of it. */
#ifndef ROWLOCK_PLAN_SAMPLED_PICTURE_H
#define ROWLOCK_PLAN_SAMPLED_PICTURE_H

#include "figures/mural.h"
#include "model/grid.h"
#include "model/image.h"
#include "picture/held_picture.h"
#include "plan/brief.h"
#include "relief/depth.h"

typedef struct SampledPicture {
    DepthFrame frame; /* which part of the picture the cells show */
    Image image;      /* one colour a cell */
    Image fine;       /* several pixels a cell each way, where outlines are sought; else empty */
    Reference reference;
} SampledPicture;

/* Holds the job's reference in memory where it takes no more than `most_bytes`; else *held_out is
 * empty. held_picture_clear also after a fault. */
Status sampled_picture_hold(HeldPicture *held_out, const Brief *brief, size_t most_bytes,
                            Fault *fault);

/* Samples what is held, or reads the job's reference where nothing is (NULL allowed). own: the
 * user's cells, whose size counts, or empty. Fault: not what the bricks that stand were planned
 * from. sampled_picture_clear also after a fault. */
Status sampled_picture_init(SampledPicture *picture_out, const Brief *brief,
                            const HeldPicture *held, const Grid *own, Fault *fault);
/* The whole reference, uncropped, as an image of `across` pixels, or of as many as it has where
 * these are fewer. *image_out is the caller's to clear, also after a fault. */
Status sampled_picture_whole(Image *image_out, const Brief *brief, const HeldPicture *held,
                             int across, Fault *fault);

void sampled_picture_clear(SampledPicture *picture);

#endif
