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

/* What the steps are made of. */
typedef struct DepthInput {
    const DepthFrame *frame;
    const Image *picture; /* the cells as sampled; frame's columns x rows */
    const Image *guide;   /* what steps should follow the edges of; the same size */
    int threads;          /* at least 1; never changes the result */
} DepthInput;

/* Fills steps_out, one for each cell, 0 to RELIEF_STEPS_MOST. What was rounded is said by a
 * note. Faults: a map that cannot be read, or has another shape or size. */
Status depth_steps(const Job *job, const DepthInput *input, uint8_t *steps_out, const Voice *voice,
                   Fault *fault);

#endif
