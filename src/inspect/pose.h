/* Pose: where each place of a panel's face is in a photograph.
 *
 * A pinhole camera takes the plane of the lowest steps by a homography; what stands out is moved by
 * a third direction, which follows from it where pixels are square and the lens looks at the middle
 * of the photograph (Hartley and Zisserman, Multiple View Geometry, 2nd ed., 2004, section 8.8). */
#ifndef ROWLOCK_INSPECT_POSE_H
#define ROWLOCK_INSPECT_POSE_H

#include "camera/homography.h"
#include "inspect/panel_face.h"

typedef struct Pose {
    Homography plane; /* plane units to pixels; h[8] is 1 */
    double out[3];    /* of a plane unit toward the viewer, homogeneous */
} Pose;

/* The size of the photograph. */
typedef struct PoseFrame {
    int width, height;
} PoseFrame;

/* How a camera stands to a face. */
typedef struct PoseView {
    double half;         /* pixels of a plane unit, seen squarely */
    double roll;         /* radians, counterclockwise */
    double tilt, toward; /* radians off the face's normal; to which side of the face */
} PoseView;

/* A phone's main lens, lengths of the photograph's longer side: 26 mm to the 36 mm of film (common
 * practice, no source). */
#define POSE_LENS 0.72

/* With the face's middle in the pixel (x, y). */
Pose pose_of_view(const PoseView *view, PoseFrame frame, double x, double y);

/* False where the four corners, of the whole face, upper left, upper right, lower right, lower
 * left, are none of a face that is seen from the front. */
bool pose_of_corners(Pose *pose_out, const PanelFace *face, PoseFrame frame,
                     const PlanePoint corner[4]);
void pose_corners(const Pose *pose, const PanelFace *face, PlanePoint corner_out[4]);

/* Sets `out` from the homography. */
void pose_stand_out(Pose *pose, PoseFrame frame);

static inline PlanePoint pose_place(const Pose *pose, double x, double y, double z)
{
    const double *h = pose->plane.h;
    const double w = h[6] * x + h[7] * y + h[8] + z * pose->out[2];
    return (PlanePoint){(h[0] * x + h[1] * y + h[2] + z * pose->out[0]) / w,
                        (h[3] * x + h[4] * y + h[5] + z * pose->out[1]) / w};
}

/* Pixels of a cell, the root of its area, about the middle of the face. */
double pose_cell_pixels(const Pose *pose, const PanelFace *face);

#endif
