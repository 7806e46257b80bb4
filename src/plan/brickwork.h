/* Brickwork: the mural in panels and bricks, with all that is known of how they hold. */
#ifndef ROWLOCK_PLAN_BRICKWORK_H
#define ROWLOCK_PLAN_BRICKWORK_H

#include "figures/mural.h"
#include "model/image.h"
#include "plan/body.h"
#include "plan/brief.h"
#include "plan/cell_rules.h"
#include "plan/lay_solid.h"
#include "plan/studio.h"

/* What a laying is made from. All is borrowed. */
typedef struct LayInputs {
    const Studio *studio;
    const Image *target;    /* what the colours should look like, where some must change */
    const Grid *face;       /* the colours that were chosen */
    const uint8_t *steps;   /* that were asked for; NULL: flat */
    const CellRules *rules; /* NULL: nothing is asked of single cells */
} LayInputs;

typedef struct Brickwork {
    Body body;                /* colours and steps as they are laid */
    StepChanges step_changes; /* steps that are not as they were asked for */
    Laying laying;            /* its bricks include those that stand */
    bool *stands;             /* of each of these bricks; NULL: nothing stands */
    Difference difference;    /* to the earlier plan, where something stands */
    Bond bond;
    Evenness even; /* of a kit's cards, where they were cut to ask alike */
} Brickwork;

/* brickwork_clear also after a fault. A brickwork is not moved: see Body. */
Status brickwork_init(Brickwork *brickwork_out, const Brief *brief, const LayInputs *inputs,
                      Fault *fault);
void brickwork_clear(Brickwork *brickwork);

/* Counts its bricks, those that stand and the spare ones. Fault: no memory. */
Status brickwork_count(Parts *parts_out, const Brief *brief, const Studio *studio,
                       const Brickwork *brickwork, Fault *fault);

#endif
