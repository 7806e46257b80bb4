/* Relief support: finds the steps of a relief that no brick could carry, and lowers them.
 *
 * A wall is built course by course, so what stands out must be carried from below (see
 * corbel.h). Courses are gone through from the lowest; where a unit cannot be carried, its
 * cell loses that unit and what is in front of it, no more, and the courses around are
 * looked at again. Steps are only ever lowered. A plaque lies flat while it is built and
 * every tier rests on the one below, so nothing changes. */
#ifndef ROWLOCK_HOLD_RELIEF_SUPPORT_H
#define ROWLOCK_HOLD_RELIEF_SUPPORT_H

#include "base/status.h"
#include "base/voice.h"
#include "model/grid.h"
#include "model/panel.h"
#include "model/sizes.h"

typedef struct CarryChange {
    int column, row;  /* from 0 */
    uint8_t from, to; /* steps */
} CarryChange;

typedef struct Carried {
    size_t count, capacity;
    CarryChange *change; /* by row, then column */
    size_t lowered;      /* of the changes; the others raise */
    long steps;          /* the sum of all that was taken away */
} Carried;

/* Lowers grid->steps (which may be NULL) until every course can be carried. */
Status relief_support_steps(Grid *grid, Build build, int base, const Sizes *sizes,
                            const Panels *panels, Carried *carried_out, const Voice *voice,
                            Fault *fault);

/* Lists how the grid's steps differ from those that were asked for. */
Status carried_list(Carried *carried_out, const Grid *grid, const uint8_t *asked, Fault *fault);
void carried_clear(Carried *carried);

#endif
