/* Corbel: the bricks of a relief wall's course that stand out beyond the course below.
 *
 * A unit with none below it must be in a brick that reaches back, or sideways, over units
 * that have: half of the brick at most may be without support, for then its centre of mass
 * is above what carries it. (The limit for corbelled masonry is tighter, half a unit's
 * height or a third of its depth a course, TMS 402, from memory: mortar does not hold a unit
 * down, a brick's knobs do.) In a panel's lowest course, which stands on the ground, a unit
 * with none above it must be in a brick that some unit above holds, or it would be loose. */
#ifndef ROWLOCK_CORBEL_H
#define ROWLOCK_CORBEL_H

#include "course.h"
#include "grid.h"
#include "panel.h"
#include "status.h"

/* Room for courses of one panel. */
typedef struct Corbel {
    const Solid *solid;
    const Panel *panel;
    int depth;     /* tiers of the panel */
    int16_t *hue;  /* depth x columns: see course.h */
    int16_t *seen; /* the same before any brick was placed */
    uint8_t *held; /* depth x columns: 1 where a unit below (lowest course: above) is there */
    bool deep;     /* of equal bricks, take the deepest */
    Course trial;  /* one order of work */
    int *highest;  /* columns: of the trial */
} Corbel;

Status corbel_init(Corbel *corbel, const Solid *solid, const Panel *panel, Fault *fault);
void corbel_clear(Corbel *corbel);

/* What the units of a course must show, into corbel->hue. */
void corbel_see(Corbel *corbel, int row);

/* Places the bricks that carry the overhanging units of a course (rows from the panel's
 * lowest), into *course, and takes their units out of corbel->hue. *failed_out is the number of
 * units that nothing could carry; highest_out (columns; may be NULL) is the highest tier of
 * these in each column, -1 for none. Of equal bricks the one along the course is taken, or the
 * deep one, as asked: those along it take fewer bricks in all, deep ones tie better. */
Status corbel_course(Corbel *corbel, const Cuts *cuts, int row, bool deep, Course *course,
                     int *failed_out, int *highest_out, Fault *fault);

#endif
