/* Align: the pose that is near a first one and under which the photograph fits the plan best. */
#ifndef ROWLOCK_INSPECT_ALIGN_H
#define ROWLOCK_INSPECT_ALIGN_H

#include "inspect/face_nodes.h"
#include "inspect/light_levels.h"
#include "inspect/pose.h"

/* What the plan explains of the photograph's values at the nodes, 0 to 1, beside what light alone
 * could: 1 where each channel is the plan's times a factor. */
typedef struct Aligned {
    Pose pose;
    double explained;
} Aligned;

/* Room for the work on so many nodes. */
typedef struct AlignRoom {
    size_t capacity;
    double *column[9]; /* a channel's values, its slopes by the eight numbers of the pose */
} AlignRoom;

Status align_room_init(AlignRoom *room_out, size_t nodes, Fault *fault);
void align_room_clear(AlignRoom *room);

/* Moves the pose by up to `turns` steps. */
Aligned align_pose(const FaceNodes *nodes, const LightLevels *levels, PoseFrame frame,
                   const Pose *from, int turns, AlignRoom *room);

/* Marks the nodes at which photograph and plan differ as they do at few others: a wrong brick, a
 * glare, something that lies on the panel. `drop_out` has a place for each. */
void align_outliers(const FaceNodes *nodes, const LightLevels *levels, const Pose *pose,
                    AlignRoom *room, bool *drop_out);

#endif
