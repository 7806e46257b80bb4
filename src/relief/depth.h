/* Depth: gives the cells their steps as the job asks: from a depth map or what stands
 * out of the picture, a mask over it, or a map of steps that was edited by hand. */
#ifndef ROWLOCK_RELIEF_DEPTH_H
#define ROWLOCK_RELIEF_DEPTH_H

#include "base/voice.h"
#include "model/image.h"
#include "model/job.h"
#include "relief/map_frame.h"

#include <stdbool.h>
#include <stdint.h>

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

/* The job's depth, as it is before it is cut into steps: rows x columns numbers, 0 to 1, that
 * memory_free frees. The job has a relief. */
Status depth_plane(const Job *job, const DepthInput *input, float **depth_out, const Voice *voice,
                   Fault *fault);

/* The most steps that the job asks for; 0: it does not say. What was rounded is said. */
Status depth_most_steps(const Job *job, int *steps_out, const Voice *voice, Fault *fault);

/* Fills steps_out, one for each cell, 0 to RELIEF_STEPS_MOST. What was rounded is said by a
 * note. Faults: a map that cannot be read, or has another shape or size. */
Status depth_steps(const Job *job, const DepthInput *input, uint8_t *steps_out, const Voice *voice,
                   Fault *fault);

#endif
