/* Course dp: the exact dynamic program over one course that is at most two bricks deep.
 *
 * Seen on plan, a course is a strip of columns. At each column its depth is filled by
 * one brick right through, or by a back leaf and a front leaf that part at one of
 * `splits` places; the split may change only where both leaves have a joint. Each
 * brick has a price of its own, so has each line where a joint goes right through. The
 * program finds a cheapest strip. */
#ifndef ROWLOCK_BRICKS_WALL_COURSE_DP_H
#define ROWLOCK_BRICKS_WALL_COURSE_DP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { COURSE_DP_MOST_SPLITS = 1, COURSE_DP_RANGES = 2 * COURSE_DP_MOST_SPLITS + 1 };

#define COURSE_DP_NEVER (INT64_MAX / 4)

/* What may fill one range of the depth. Range 0 is right through; ranges 2s-1 and 2s are
 * the back and the front leaf at split s, counted from 1. */
typedef struct LeafRange {
    int count;           /* lengths to choose from */
    const int *length;   /* count of them, ascending, 1 to longest */
    const int64_t *cost; /* columns x count: the price of a brick that starts at this column;
                            COURSE_DP_NEVER where it cannot be: then no longer one can */
} LeafRange;

typedef struct CourseDp {
    int columns, splits;
    int longest; /* of all lengths */
    LeafRange range[COURSE_DP_RANGES];
    const int64_t *line; /* columns + 1: the price of a joint right through at a column's left
                            edge; the ends are not asked for */
} CourseDp;

typedef struct LeafBrick {
    int column;
    int range, nth; /* which length of which range */
} LeafBrick;

typedef struct LeafStep {
    int64_t cost;
    int32_t from_column;
    int16_t from_state;
    uint8_t range, nth;
} LeafStep;

/* Steps of scratch that a solve needs. */
size_t course_dp_steps(int columns, int splits, int longest);

/* The cheapest strip's price. Bricks go to brick_out (room for 2 x columns) in an order
 * that is not defined, their number to *count_out; brick_out may be NULL. COURSE_DP_NEVER if
 * there is none: *count_out is then the first column that no strip gets past. */
int64_t course_dp_solve(const CourseDp *dp, LeafStep *scratch, LeafBrick *brick_out,
                        int *count_out);

#endif
