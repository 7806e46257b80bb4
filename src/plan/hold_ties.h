/* Hold ties: a brick that lies over a stack of small bricks and what is beside it, so that a touch
 * takes neither off. */
#ifndef ROWLOCK_PLAN_HOLD_TIES_H
#define ROWLOCK_PLAN_HOLD_TIES_H

#include "model/laid.h"
#include "model/sizes.h"
#include "plan/body.h"

/* Which brick fills each unit of a laid body. */
typedef struct UnitMap {
    uint32_t *brick;           /* by solid_unit: an index into Laid, + 1; 0 for none */
    bool has_size[SIZES_MOST]; /* some brick is of this size */
} UnitMap;

/* Fault: no memory. */
Status unit_map_init(UnitMap *map_out, const Solid *solid, const Laid *laid, Fault *fault);
void unit_map_clear(UnitMap *map);

/* What ties are sought in. Borrowed. */
typedef struct TieTask {
    const Body *body;
    const Sizes *sizes;
    const Laid *laid;
    const UnitMap *map;
    const Laid *ties; /* there already: none of these is laid over */
} TieTask;

/* The best place of a tie for this brick or, where it has none, for those under it that can be
 * seen, from the outermost; false where there is none. A tie changes no colour: what it covers is
 * hidden, or of the one colour that the brick shows; and it brings no size that is not laid. */
bool hold_ties_find(const TieTask *task, const Brick *brick, Brick *tie_out);

#endif
