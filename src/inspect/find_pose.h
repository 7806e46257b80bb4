/* Find pose: where in a photograph a panel's face is, with nothing known but the plan. */
#ifndef ROWLOCK_INSPECT_FIND_POSE_H
#define ROWLOCK_INSPECT_FIND_POSE_H

#include "base/voice.h"
#include "inspect/align.h"

typedef struct PoseSearch {
    const LightLevels *levels;
    PoseFrame frame;
    int threads;
    const Voice *voice;
} PoseSearch;

/* The pose that the plan explains best, the face upright within 12 degrees or so, seen from up to
 * 35, as long as a third of the photograph's shorter side at least. There is always one; whether
 * the panel is there at all is for others to say. Faults: no memory, stopped. */
Status find_pose(Aligned *best_out, const PanelFace *face, const PoseSearch *search, Fault *fault);

/* From a pose that a pattern of the panel may have drawn a cell or two off, as a whole or along an
 * edge, to one beside it that the plan explains better; the same where there is none. */
Status nudge_pose(Aligned *pose_inout, const PanelFace *face, const PoseSearch *search,
                  Fault *fault);

/* From a pose that is nearly right to the finest one. */
Status refine_pose(Aligned *pose_inout, const PanelFace *face, const PoseSearch *search,
                   Fault *fault);

#endif
