/* Course tiles: one course of a wall as a field of columns by tiers, bounded and laid by the
 * tiler. */
#ifndef ROWLOCK_BRICKS_WALL_COURSE_TILES_H
#define ROWLOCK_BRICKS_WALL_COURSE_TILES_H

#include "bricks/tiling/profile_dp.h"
#include "bricks/tiling/shape.h"
#include "bricks/wall/course_prices.h"

/* What a course comes to by itself. */
typedef struct CourseWorth {
    double least;  /* it takes no less, in units of SHAPE_ONE: bricks where each costs that */
    int32_t *dual; /* depth x columns: what each unit is worth (tiling_duals.h) */
} CourseWorth;

/* Finds it for the course that `corbel` sees; *worth_out has room for the duals. Effort: 0 to 1. */
Status course_tiles_bound(CourseWorth *worth_out, const Corbel *corbel, const Shapes *shapes,
                          double effort, const Voice *voice, Fault *fault);

/* How a course is laid. */
typedef struct CourseTask {
    const CoursePrices *prices;
    const Shapes *shapes;
    const int32_t *dual; /* as found by course_tiles_bound, or all 0 */
    int most;            /* profiles that a search may keep */
    const Course *kept;  /* bricks that it is laid around; they are out of the corbel's hues */
} CourseTask;

/* Lays the course into *course, whose bricks it starts from. *stuck_out is -1, or a column that no
 * laying fills. */
Status course_tiles_lay(Course *course, const CourseTask *task, ProfileDp *dp, int *stuck_out,
                        Fault *fault);

#endif
