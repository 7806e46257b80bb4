/* Course prices: what a place in a course costs beyond its brick, by what the courses below and
 * above ask for. */
#ifndef ROWLOCK_BRICKS_WALL_COURSE_PRICES_H
#define ROWLOCK_BRICKS_WALL_COURSE_PRICES_H

#include "bricks/tiling/field.h"
#include "bricks/tiling/shape.h"
#include "bricks/wall/corbel.h"
#include "bricks/wall/course.h"

/* The course below, or above. */
typedef struct CourseSide {
    const uint8_t *fills;  /* depth x columns: 1 where it has a unit; NULL: no such course */
    const uint8_t *beyond; /* the same of the next course on that side */
    const View *view;      /* its bricks; NULL: not laid yet */
    const uint8_t *run;    /* columns + 1: courses in a row, to two, from it on, whose joint right
                              through is at this line */
    /* How hard bricks are asked to overlap two across this bed joint, by the column where they
     * start: those of the course itself, and those of this side. NULL: not asked. */
    const uint8_t *ask, *ask_other;
} CourseSide;

/* What a flaw of the bond costs, by how a wall is built, in steps (course_prices_step). */
typedef struct BondPrices {
    int weak;     /* one brick alone holds another; each time that another bond was asked for */
    int lap;      /* a lap below a quarter in all tiers of the course; a share of it in some */
    int line_two; /* a joint right through over one of a neighbour */
} BondPrices;

/* What a course is laid against. */
typedef struct CourseBed {
    Corbel *corbel;         /* that sees the course: hue of what is to be laid, and what is held */
    const BondPrices *bond; /* course_prices_bond */
    int columns, depth;
    const uint8_t *fills; /* depth x columns: 1 where the course has a unit */
    CourseSide side[2];   /* below, above */
    const uint8_t *cross; /* columns + 1: how hard a brick is asked to cross a line */
    int32_t step;         /* of prices, in parts of SHAPE_ONE: see course_prices_step */
} CourseBed;

/* The prices of all places of a course, made ready. */
typedef struct CoursePrices {
    const CourseBed *bed;
    int lap;            /* what a lap below a quarter costs in one tier, in steps */
    uint8_t *alone[2];  /* by brick of the neighbour: 1 if nothing holds it on its other side */
    bool all_matter[2]; /* whether more than two bricks of a neighbour need be looked at */
    int32_t *line;      /* columns: what a joint right through at a column's left edge costs, in
                           parts of SHAPE_ONE */
    int32_t *hanging;   /* (depth + 1) x (columns + 1): sums of units that nothing holds */
} CoursePrices;

/* The step of prices, of which 64 are a brick of average cost. */
int32_t course_prices_step(const Shapes *shapes);

/* The prices of a wall of this thickness; flat: nothing stands out. */
const BondPrices *course_prices_bond(int thickness, bool flat);

Status course_prices_init(CoursePrices *prices, const CourseBed *bed, Fault *fault);
void course_prices_clear(CoursePrices *prices);

/* What a place costs beyond its brick, in parts of SHAPE_ONE; context: CoursePrices. See TilePrices
 * of field.h. */
int32_t course_prices_of(const void *context, const Tile *place);

/* Whether a brick is weak, alone to hold one that would be, asked to lie otherwise, or not
 * carried. */
bool course_prices_flaw(const CoursePrices *prices, const CourseBrick *brick);

/* Ends of a brick that lap one of a neighbour by less than a quarter, in each tier. */
int course_prices_short_laps(const CoursePrices *prices, const CourseBrick *brick);

#endif
