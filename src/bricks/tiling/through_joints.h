/* Lines: joints that run straight across a whole panel, where it would fold.
 *
 * A line lies left of a column or below a row, not on a panel's edge, and no brick of
 * the panel crosses it. Lines that no brick could cross, for the colours meet there
 * all along, are not counted. */
#ifndef ROWLOCK_BRICKS_TILING_THROUGH_JOINTS_H
#define ROWLOCK_BRICKS_TILING_THROUGH_JOINTS_H

#include "base/status.h"
#include "bricks/tiling/field.h"

typedef struct ThroughJoints {
    size_t count;
    const TileField *field;
    int32_t *panel_column, *panel_row; /* by column, by row: which panel across, or up */
    bool *upright; /* by panel up, then column: a line lies left of the column */
    bool *level;   /* by panel across, then row: a line lies below the row */
} ThroughJoints;

Status through_joints_init(ThroughJoints *lines_out, const TileField *field, const Tile *tile,
                           size_t tiles, Fault *fault);
void through_joints_clear(ThroughJoints *lines);

/* True if a box with this lowest cell crosses a line. */
bool through_joints_crossed(const ThroughJoints *lines, int32_t column, int32_t row, int columns,
                            int rows);

#endif
