/* Course: one course of a wall, or one layer of a plaque, as bricks; and the bricks there are.
 *
 * A course is a field of columns by tiers, each unit of which is outside the solid, or shows a
 * colour, or is free. */
#ifndef ROWLOCK_BRICKS_WALL_COURSE_H
#define ROWLOCK_BRICKS_WALL_COURSE_H

#include "base/status.h"
#include "model/sizes.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { HUE_NONE = -2, HUE_FREE = -1 }; /* else the palette index that a unit shows */

/* A brick of a course; columns count from the panel's left edge. No bytes of it are unused,
 * so that courses may be compared as bytes. */
typedef struct CourseBrick {
    int16_t column, tier;
    uint8_t columns, tiers;
    uint16_t size;
} CourseBrick;

static inline bool brick_within(const CourseBrick *p, const CourseBrick *q)
{
    return p->column >= q->column && p->column + p->columns <= q->column + q->columns &&
           p->tier >= q->tier && p->tier + p->tiers <= q->tier + q->tiers;
}

typedef struct Course {
    size_t count, capacity;
    CourseBrick *brick;
} Course;

enum { COURSE_PRICE_ONE = 1000 }; /* the price of a brick of average cost */

/* The lengths that fill a depth, ascending, each in its cheapest size; and the prices. */
typedef struct Cuts {
    int count[SIZE_LONGEST + 1];
    int length[SIZE_LONGEST + 1][SIZE_LONGEST];
    uint8_t size[SIZE_LONGEST + 1][SIZE_LONGEST];
    int64_t price[SIZES_MOST];
    int longest;
} Cuts;

void cuts_init(Cuts *cuts_out, const Sizes *sizes, const double *cost);

/* A neighbour as this course sees it: the brick of each unit, -1 where there is none. */
typedef struct View {
    const Course *course;
    int32_t *unit; /* depth x columns */
} View;

Status course_add(Course *course, const CourseBrick *brick, Fault *fault);
bool course_same(const Course *a, const Course *b);
Status course_copy(Course *to, const Course *from, Fault *fault);
void course_clear(Course *course);

#endif
