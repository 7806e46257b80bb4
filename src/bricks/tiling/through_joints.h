/* Through joints: joints that run straight across a whole panel, where it would fold.
 *
 * A line left of a column or below a row, within a panel, is one if no brick of the panel crosses
 * it. Lines that no brick could cross, since colours meet there all along, are not counted. */
#ifndef ROWLOCK_BRICKS_TILING_THROUGH_JOINTS_H
#define ROWLOCK_BRICKS_TILING_THROUGH_JOINTS_H

#include "base/status.h"
#include "bricks/tiling/field.h"

typedef struct ThroughJoints {
    size_t count;
    const TileField *field;
    int32_t *panel_column, *panel_row; /* by column, by row: which panel across, or up */
    bool *upright; /* by panel up, then column: a joint runs left of the column */
    bool *level;   /* by panel across, then row: a joint runs below the row */
} ThroughJoints;

Status through_joints_init(ThroughJoints *joints_out, const TileField *field, const Tile *tile,
                           size_t tiles, Fault *fault);
void through_joints_clear(ThroughJoints *joints);

/* True if a box with this lowest cell crosses one. */
bool through_joints_crossed(const ThroughJoints *joints, int32_t column, int32_t row, int columns,
                            int rows);

#endif
