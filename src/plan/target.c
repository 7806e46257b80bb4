/* The fitted image is made for two reasons: colours may be chosen for it, and the finished face
 * is measured against it in any case. So its making and its choice are two things. */
#include "plan/target.h"

#include "cells/tone.h"

Status target_fit(Image *fitted_out, const Brief *brief, const Studio *studio, const Image *image,
                  Fault *fault)
{
    return tone_fit(image, &studio->offered, brief->threads, brief->voice, fitted_out, fault);
}

const Image *target_choose(const Job *job, const Image *image, const Image *fitted)
{
    return job->tone == TONE_FIT ? fitted : image;
}
