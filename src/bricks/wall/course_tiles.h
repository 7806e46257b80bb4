/* Course tiles: one course of a wall in relief as a field of columns by tiers, laid by the tiler at
 * prices that say what the courses below and above ask for. */
#ifndef ROWLOCK_BRICKS_WALL_COURSE_TILES_H
#define ROWLOCK_BRICKS_WALL_COURSE_TILES_H

#include "bricks/tiling/profile_dp.h"
#include "bricks/tiling/shape.h"
#include "bricks/wall/corbel.h"
#include "bricks/wall/course.h"

/* The course below, or above. */
typedef struct CourseSide {
    const uint8_t *fills;  /* depth x columns: 1 where it has a unit; NULL: no such course */
    const uint8_t *beyond; /* the same of the next course on that side */
    const View *view;      /* its bricks; NULL: not laid yet */
    const uint8_t *run;    /* columns + 1: see Bed, under and over */
} CourseSide;

/* What a course is laid against. */
typedef struct TileBed {
    const Shapes *shapes;
    Corbel *corbel; /* that sees the course: hue of what is to be laid, and what is held */
    int columns, depth;
    const uint8_t *fills; /* depth x columns: 1 where the course has a unit */
    CourseSide side[2];   /* below, above */
    /* How hard bricks are asked, by the column where they start, to overlap two others; and by line
     * (columns + 1), to cross it. */
    const uint8_t *bear, *carry, *cross;
    const int32_t *dual; /* depth x columns: what each unit is worth (tiling_duals.h) */
    int most;            /* profiles that a search may keep */
} TileBed;

/* The prices of all places of a course, made ready. */
typedef struct CoursePrices {
    const TileBed *bed;
    uint8_t *alone[2]; /* by brick of the neighbour: 1 if nothing holds it on its other side */
    bool any_alone[2];
    int32_t *line;    /* columns + 1: the price of each unit of a joint there */
    int32_t *hanging; /* (depth + 1) x (columns + 1): sums of units that nothing holds */
} CoursePrices;

Status course_prices_init(CoursePrices *prices, const TileBed *bed, Fault *fault);
void course_prices_clear(CoursePrices *prices);

/* Whether a brick is weak, alone to hold one that would be, or not carried. */
bool course_prices_flaw(const CoursePrices *prices, const CourseBrick *brick);

/* What a course comes to by itself. */
typedef struct CourseWorth {
    double least;  /* it takes no less, in units of SHAPE_ONE: bricks where each costs that */
    int32_t *dual; /* depth x columns: what each unit is worth */
} CourseWorth;

/* Finds it for the course that `corbel` sees; *worth_out has room for the duals. Effort: 0 to 1. */
Status course_tiles_bound(CourseWorth *worth_out, const Corbel *corbel, const Shapes *shapes,
                          double effort, const Voice *voice, Fault *fault);

/* Lays the course around the bricks `kept`, which are out of the corbel's hues, into *course, whose
 * bricks it starts from. *stuck_out is -1, or a column that no laying fills. */
Status course_tiles_lay(Course *course, const Course *kept, const CoursePrices *prices,
                        ProfileDp *dp, int *stuck_out, Fault *fault);

/* The best brick across a line, among those that may lie; columns 0: none. */
CourseBrick course_tiles_across(const CoursePrices *prices, int line);

#endif
