/* Cross joints: points at which four bricks meet, two joints running straight through each
 * other. A bond has none: the joint of one brick ends against the side of another, as in
 * a T, and what pulls at one brick is held by two.
 *
 * A point lies at the lower left corner of a cell. Points on a panel's edge do not count,
 * nor those that the colours force, where no brick could reach across. */
#ifndef ROWLOCK_BRICKS_TILING_CROSS_JOINTS_H
#define ROWLOCK_BRICKS_TILING_CROSS_JOINTS_H

#include "base/status.h"
#include "bricks/tiling/field.h"
#include "bricks/tiling/region.h"

typedef struct CrossJoints {
    size_t count;
    const TileField *field;
    int32_t *owner;  /* by cell: its brick, from 1; 0 for none */
    int32_t *region; /* by cell: a number of its region that the caller gives */
    int32_t *number; /* by cell: its number in its region, while that is laid anew */
} CrossJoints;

Status cross_joints_init(CrossJoints *cross_joints_out, const TileField *field, const Tile *tile,
                         size_t tiles, Fault *fault);
void cross_joints_clear(CrossJoints *joints);

bool cross_joints_at(const CrossJoints *joints, int32_t column, int32_t row);

/* One region laid anew among others that stay as they were. */
typedef struct CrossJointView {
    const CrossJoints *joints;
    int32_t region;
} CrossJointView;

/* Sets the view up; other regions may be viewed at the same time. */
CrossJointView cross_joints_view(const CrossJoints *joints, const Region *region);

/* How many cross joints the cells of a window touch, one as often as cells touch it; owner: by
 * cell of the region, the first cell of its brick. For window_search.h, with a CrossJointView. */
int32_t cross_joints_around(const void *view, const Region *region, const int32_t *owner,
                            const int32_t *window, int32_t cells);

#endif
