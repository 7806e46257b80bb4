/* Corbel: the bricks of a layer that lie over more than the layer below.
 *
 * A layer is a course of a wall or a tier of a plaque. A unit with none below it must be in
 * a brick that reaches back, or sideways, over units that have: half of the brick at most may
 * be without support, for then its centre of mass is above what carries it. (The limit for
 * corbelled masonry is tighter, half a unit's height or a third of its depth a course, TMS
 * 402, from memory: mortar does not hold a unit down, a brick's knobs do.) Over a hollow core
 * a brick may also be a lintel: it bears at both of its ends, all across, and nowhere juts
 * out. In a wall panel's lowest course, which stands on the ground, a unit with none above it
 * must be in a brick that some unit above holds, or it would be loose.
 *
 * On plan a layer is a field of columns and, in a wall, tiers; in a plaque, rows, which
 * bricks here call tiers all the same. */
#ifndef ROWLOCK_BRICKS_WALL_CORBEL_H
#define ROWLOCK_BRICKS_WALL_CORBEL_H

#include "base/status.h"
#include "bricks/wall/course.h"
#include "model/grid.h"
#include "model/panel.h"

/* What is below a unit (in a wall's lowest course: above). */
enum { HELD_BY_NONE, HELD_BY_CORE /* a unit that is left out */, HELD_BY_BRICK };

/* Room for layers of one panel. */
typedef struct Corbel {
    const Solid *solid;
    const Panel *panel;
    const Cuts *cuts; /* bricks that may carry */
    int layers;       /* courses, or tiers of the deepest cell */
    int depth;        /* of the field: tiers of the deepest cell, or rows */
    int layer;        /* that is seen */
    int16_t *hue;     /* depth x columns: see course.h */
    int16_t *seen;    /* the same before any brick was placed */
    uint8_t *held;    /* depth x columns */
    bool deep;        /* of equal bricks, take the deepest */
    uint8_t *hangs;   /* depth x columns: 1 where nothing could carry the unit */
    Course trial;     /* one order of work */
    uint8_t *fails;   /* hangs, of the trial */
} Corbel;

Status corbel_init(Corbel *corbel, const Solid *solid, const Panel *panel, const Cuts *cuts,
                   Fault *fault);
void corbel_clear(Corbel *corbel);

static inline size_t corbel_unit(const Corbel *corbel, int column, int tier)
{
    return (size_t)tier * (size_t)corbel->panel->columns + (size_t)column;
}

/* Sees a layer (rows from the panel's lowest, or tiers): what its units must show, into
 * corbel->hue, and what holds them. Returns the number of units that nothing holds. */
int corbel_see(Corbel *corbel, int layer);

/* Whether a brick may lie in the layer that is seen: in the solid, where nothing is laid yet,
 * showing one colour, carried. *hanging_out is the number of its units that nothing holds. */
bool corbel_may_lie(const Corbel *corbel, const CourseBrick *brick, int *hanging_out);

/* Whether a brick of the layer that is seen is carried, whatever else is laid. */
bool corbel_carries(const Corbel *corbel, const CourseBrick *brick);

/* Whether each unit that hangs and is not laid yet could still be in a brick that may lie, once
 * this one lies. */
bool corbel_leaves_carriers(Corbel *corbel, const CourseBrick *brick);

/* Places the bricks that carry the hanging units of a layer, into *course, and takes their
 * units out of corbel->hue. *failed_out is the number of units that nothing could carry;
 * corbel->hangs says which. Of equal bricks the one along the columns is taken, or the
 * deep one, as asked: those along them take fewer bricks in all, deep ones tie better. */
Status corbel_course(Corbel *corbel, int layer, bool deep, Course *course, int *failed_out,
                     Fault *fault);

#endif
