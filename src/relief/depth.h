/* Depth: gives the cells their steps as the job asks: from a depth map or the picture's
 * lightness, a mask over it, or a map of steps that was edited by hand. */
#ifndef ROWLOCK_RELIEF_DEPTH_H
#define ROWLOCK_RELIEF_DEPTH_H

#include "base/status.h"
#include "base/voice.h"
#include "model/image.h"
#include "model/job.h"
#include "picture/sample.h"

#include <stdbool.h>
#include <stdint.h>

/* How the cells lie on the reference, in its upright pixels. */
typedef struct DepthFrame {
    int columns, rows;    /* cells */
    double width, height; /* of the reference */
    Crop cut;             /* what the user cut out of it; all of it where nothing was */
    Crop crop;            /* what the cells show */
} DepthFrame;

/* Faults where settings ask for what others leave out; *wanted_out says whether there is a
 * relief at all. */
Status depth_wanted(const Job *job, bool *wanted_out, Fault *fault);

/* Fills steps_out, one for each cell. picture: the cells as sampled; guide: what steps
 * should follow the edges of. What was rounded is said by a note. */
Status depth_steps(const Job *job, const DepthFrame *frame, const Image *picture,
                   const Image *guide, int threads, uint8_t *steps_out, const Voice *voice,
                   Fault *fault);

#endif
