/* Calendar: who builds what when, when bricks must be ordered, and when the show is packed, on its
 * way and hung.
 *
 * Each builder builds one panel after another; panels are handed out in the order of building, the
 * next one to whoever is free first (list scheduling). A panel takes its bricks over its mural's
 * pace. Packing goes as fast as hanging, an assumption of our own, and begins when all is built. */
#ifndef ROWLOCK_SHOW_CALENDAR_H
#define ROWLOCK_SHOW_CALENDAR_H

#include "show/planned.h"

/* A stretch of days, both ends included. */
typedef struct Stretch {
    Day first, last;
} Stretch;

typedef struct MuralDates {
    double begin_h, end_h; /* hours of work from the start */
    Stretch building, hanging;
    int instalment; /* the order that its bricks come with, from 0 */
} MuralDates;

typedef struct Turn { /* a panel's */
    int mural, panel; /* place of hanging, see Planned.panel */
    int builder;      /* from 0 */
    double begin_h, end_h;
} Turn;

typedef struct Calendar {
    const Show *show; /* borrowed */
    int murals, turns;
    MuralDates *mural;
    Turn *turn;                        /* in the order in which they begin */
    double hours, makespan_h, bound_h; /* of work; until the last is built; no plan is shorter */
    int critical;                      /* the mural that is built last */
    int instalments;                   /* 0 where the show has no dates */
    Day *ordered;                      /* when each is to be ordered, */
    Day *needed;                       /* and when its bricks must be there */
    Stretch packing, travel, hanging;
} Calendar;

/* Dates are only filled in where the show has a start. Fault: no memory. */
Status calendar_init(Calendar *calendar_out, const Show *show, const Planned *planned,
                     Fault *fault);
void calendar_clear(Calendar *calendar);

#endif
