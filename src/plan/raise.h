/* Raise: the steps that a relief gives the cells, as they are asked for. */
#ifndef ROWLOCK_PLAN_RAISE_H
#define ROWLOCK_PLAN_RAISE_H

#include "model/palette.h"
#include "plan/brief.h"
#include "plan/sampled_picture.h"

#include <stdint.h>

/* rows x columns steps, the caller's to free; NULL: the job asks for no relief. A mural under
 * way keeps its own. */
Status raise_steps(uint8_t **steps_out, const Brief *brief, const SampledPicture *picture,
                   const Palette *palette, const Grid *face, Fault *fault);

#endif
