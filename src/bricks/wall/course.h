/* Course: lays one course of a wall against the courses below and above it, at the least price.
 *
 * A course is a field of columns by tiers, each unit of which is outside the solid, or shows a
 * colour, or is free. */
#ifndef ROWLOCK_BRICKS_WALL_COURSE_H
#define ROWLOCK_BRICKS_WALL_COURSE_H

#include "base/status.h"
#include "bricks/wall/course_dp.h"
#include "model/laying.h"
#include "model/sizes.h"

#include <stdbool.h>
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

/* The prices of a bond, in parts of COURSE_PRICE_ONE. */
typedef struct BondPrices {
    int64_t straight; /* a joint above a joint, both right through, where no colour forces either */
    int64_t forced;   /* the same at a colour edge, where only a brick behind the face can cross */
    int64_t third;    /* each three courses in a row with a joint in line */
    int64_t lap;      /* a lap below a quarter of the shorter brick, in each tier */
    int64_t nested;   /* a brick that bears on, or carries, one brick alone */
    int64_t hanging;  /* the same where it has nothing on its other side: it would fall off with
                         that one brick */
    int64_t collar;   /* one column where two courses part at the same tier */
    int64_t sliver;   /* a brick one column long, against a longer one */
} BondPrices;

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

/* Tiers that are laid together: at most COURSE_DP_MOST_SPLITS + 1. */
typedef struct Band {
    uint8_t from, to; /* from <= tier < to */
    bool body;        /* joints right through are priced here: one band of a course */
} Band;

/* Scratch for courses of up to this many columns, depth and brick length. */
typedef struct CourseRoom {
    int64_t *cost[COURSE_DP_RANGES];
    int64_t *line;
    int64_t *collar[COURSE_DP_MOST_SPLITS];
    uint8_t *crossed;
    int16_t *field; /* the band's hues */
    LeafStep *step;
    LeafBrick *brick;
} CourseRoom;

Status course_room_init(CourseRoom *room, int columns, int deepest_band, const Cuts *cuts,
                        Fault *fault);
void course_room_clear(CourseRoom *room);

/* What a course is laid against, and of. */
typedef struct Bed {
    const Cuts *cuts;
    CourseRoom *room; /* of one thread */
    int columns, depth;
    int16_t *hue;                /* depth x columns; HUE_NONE once it is laid */
    const View *below, *above;   /* NULL at the panel's edge */
    const uint8_t *under, *over; /* columns + 1: courses in a row, to two, whose joint is here */
    const uint8_t *edge_under, *edge_over; /* columns + 1: 1 where colours differ at a line, in this
                                              course or in the one below, above */
    const uint8_t *top_under, *top_over; /* columns: tiers of the course below, above; 0 beyond the
                                            panel's edge */
    const uint8_t *top_lower, *top_higher; /* the same of the second below, above */
    /* How hard bricks are asked, by the column where they start, or NULL: a brick here to bear
     * on two below, one above on two here, one here to carry two, one below to carry two. */
    const uint8_t *bear, *bear_over, *carry, *carry_under;
    const uint8_t *cross; /* columns + 1: how hard a brick is asked to cross here; or NULL */
    const uint8_t *whole; /* columns: how hard a brick right through is asked for; or NULL */
    const BondPrices *prices;
    int bands;
    const Band *band;
} Bed;

/* Lays the course into *course, whose bricks are given up; those before `kept` stay: they are laid
 * already and their units are HUE_NONE. *stuck_out is -1, or the first column that no laying gets
 * past. */
Status course_lay(Course *course, size_t kept, const Bed *bed, int *stuck_out, Fault *fault);

/* What a flat course that is laid comes to at the bed's prices. parted[column] is 1 where a joint
 * goes right through at the left edge. */
int64_t course_price(const View *own, const Bed *bed, const uint8_t *parted);

Status course_add(Course *course, const CourseBrick *brick, Fault *fault);
bool course_same(const Course *a, const Course *b);
Status course_copy(Course *to, const Course *from, Fault *fault);
void course_clear(Course *course);

#endif
