/* Body: what is to be laid: colours and steps a cell, less a hollow core, cut in panels. */
#ifndef ROWLOCK_PLAN_BODY_H
#define ROWLOCK_PLAN_BODY_H

#include "hold/hollow.h"
#include "model/grid.h"
#include "model/panel.h"
#include "plan/brief.h"
#include "plan/studio.h"

/* Laying may change it where bricks ask for that: steps that nothing could carry, colours that
 * the stock does not have. It is not moved once it is made, since the solid is of its grid. */
typedef struct Body {
    Grid grid;
    Solid solid;
    Hollow hollow; /* owns the solid's left_out */
    Panels panels;
} Body;

/* Of copies of the face and the steps (NULL: flat); nothing is left out yet. body_clear also
 * after a fault. */
Status body_init(Body *body_out, const Brief *brief, const Sizes *sizes, const Grid *face,
                 const uint8_t *steps, Fault *fault);
void body_clear(Body *body);

/* Takes down what no brick of a wall could carry. A mural under way stays as it was. */
Status body_support(Body *body, const Brief *brief, const Sizes *sizes, Fault *fault);

#endif
