/* Saliency: what stands out of a picture, where nothing else tells near from far.
 *
 * Lightness alone raises a pale sky as high as a face and leaves dark hair flat. What differs from
 * its surroundings, in lightness or hue, and lies off the picture's edges is more likely to be its
 * subject; lightness is left to model what stands out. */
#ifndef ROWLOCK_RELIEF_SALIENCY_H
#define ROWLOCK_RELIEF_SALIENCY_H

#include "base/status.h"
#include "base/voice.h"
#include "model/image.h"

#include <stdbool.h>

/* Fills depth_out, columns x rows: 0 for the background, to 1. dark_is_near: of what stands out,
 * the dark is nearest instead of the light. The voice is asked between rows; once it wants to stop
 * the rest is left as it is. Fault: no memory. */
Status saliency_depth(const Image *image, bool dark_is_near, float *depth_out, const Voice *voice,
                      Fault *fault);

#endif
