/* Raise: the steps that a relief gives the cells, as they are asked for. */
#ifndef ROWLOCK_PLAN_RAISE_H
#define ROWLOCK_PLAN_RAISE_H

#include "model/palette.h"
#include "plan/brief.h"
#include "plan/sampled_picture.h"
#include "relief/subject.h"

#include <stdint.h>

/* What stands out, and how far. */
typedef struct Raised {
    uint8_t *steps;  /* rows x columns; NULL: the job asks for no relief */
    Subject subject; /* its layers; none where other things than layers tell the steps */
} Raised;

/* A mural under way keeps its own steps. raised_clear also after a fault. */
Status raised_init(Raised *raised_out, const Brief *brief, const SampledPicture *picture,
                   const Palette *palette, const Grid *face, Fault *fault);
void raised_clear(Raised *raised);

#endif
