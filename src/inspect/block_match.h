/* Block match: puts right a pose under which only part of a face lies where it should, as happens
 * where the rest has little pattern to hold on to. */
#ifndef ROWLOCK_INSPECT_BLOCK_MATCH_H
#define ROWLOCK_INSPECT_BLOCK_MATCH_H

#include "inspect/light_levels.h"
#include "inspect/pose.h"

/* Leaves the pose as it is where blocks tell nothing else. Fault: no memory. */
Status block_match(Pose *pose_inout, const PanelFace *face, const LightLevels *levels,
                   PoseFrame frame, Fault *fault);

#endif
