/* Target: what the colours should look like: the picture as it was sampled, or with its tone
 * fitted to the palette. */
#ifndef ROWLOCK_PLAN_TARGET_H
#define ROWLOCK_PLAN_TARGET_H

#include "model/image.h"
#include "plan/brief.h"
#include "plan/studio.h"

/* The image within what the colours on offer can show. image_clear also after a fault. */
Status target_fit(Image *fitted_out, const Brief *brief, const Studio *studio, const Image *image,
                  Fault *fault);

/* The one that the job asks for; fitted need not be made where it asks for the other. */
const Image *target_choose(const Job *job, const Image *image, const Image *fitted);

#endif
