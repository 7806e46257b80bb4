#include "inspect/pose.h"

#include <math.h>
#include <string.h>

static double longer_side(PoseFrame frame)
{
    return frame.width > frame.height ? frame.width : frame.height;
}

Pose pose_of_view(const PoseView *v, PoseFrame frame, double x, double y)
{
    const double f = POSE_LENS * longer_side(frame), far = f / v->half;
    const double c = cos(v->toward), s = sin(v->toward), ct = cos(v->tilt), st = sin(v->tilt);
    const double cr = cos(v->roll), sr = sin(v->roll);
    const double tilted[3][2] = {{c * c * ct + s * s, c * s * (ct - 1)},
                                 {c * s * (ct - 1), s * s * ct + c * c},
                                 {-st * c, -st * s}};
    Pose pose;
    double *h = pose.plane.h;
    for (int k = 0; k < 2; k++) {
        const double right = cr * tilted[0][k] - sr * tilted[1][k];
        const double up = sr * tilted[0][k] + cr * tilted[1][k];
        const double away = tilted[2][k] / far;
        h[k] = f * right / far + x * away;
        h[3 + k] = -f * up / far + y * away;
        h[6 + k] = away;
    }
    h[2] = x;
    h[5] = y;
    h[8] = 1;
    pose_stand_out(&pose, frame);
    return pose;
}

static void corners_of_face(const PanelFace *face, PlanePoint corner[4])
{
    const double x = face->columns * face->unit_x / 2, y = face->rows * face->unit_y / 2;
    memcpy(corner, ((PlanePoint[]){{-x, y}, {x, y}, {x, -y}, {-x, -y}}), 4 * sizeof *corner);
}

bool pose_of_corners(Pose *pose, const PanelFace *face, PoseFrame frame, const PlanePoint corner[4])
{
    PlanePoint from[4];
    corners_of_face(face, from);
    if (!quad_is_convex(corner) || quad_area(corner) <= 0) return false;
    if (!homography_fit(&pose->plane, from, corner, 4) || pose->plane.h[8] != 1) return false;
    pose_stand_out(pose, frame);
    return true;
}

void pose_corners(const Pose *pose, const PanelFace *face, PlanePoint corner[4])
{
    PlanePoint from[4];
    corners_of_face(face, from);
    for (int i = 0; i < 4; i++) corner[i] = pose_place(pose, from[i].x, from[i].y, 0);
}

/* The inverse square of the focal length: that the plane's two axes are at right angles and of one
 * length are two equations for it, and a phone's lens is a third, which counts as much as an error
 * of a fiftieth in the face's proportions would. */
static double lens_power(const double a[3], const double b[3], double usual)
{
    const double right = a[0] * b[0] + a[1] * b[1], right_away = a[2] * b[2];
    const double length = a[0] * a[0] + a[1] * a[1] - b[0] * b[0] - b[1] * b[1];
    const double length_away = a[2] * a[2] - b[2] * b[2];
    const double size = 0.02 * (a[0] * a[0] + a[1] * a[1] + b[0] * b[0] + b[1] * b[1]) / 2;
    const double doubt = size * size;
    const double power = (doubt * usual - right * right_away - length * length_away) /
                         (doubt + right * right + length * length);
    return fmin(fmax(power, usual / 6), usual * 4); /* from a wide lens to a long one */
}

void pose_stand_out(Pose *pose, PoseFrame frame)
{
    const double *h = pose->plane.h, cx = frame.width / 2.0, cy = frame.height / 2.0;
    double a[3] = {h[0] - cx * h[6], h[3] - cy * h[6], h[6]};
    double b[3] = {h[1] - cx * h[7], h[4] - cy * h[7], h[7]};
    const double lens = POSE_LENS * longer_side(frame);
    const double f = 1 / sqrt(lens_power(a, b, 1 / (lens * lens)));
    for (int k = 0; k < 2; k++) {
        a[k] /= f;
        b[k] /= f;
    }
    double normal[3] = {a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2],
                        a[0] * b[1] - a[1] * b[0]};
    const double unit = sqrt(sqrt((a[0] * a[0] + a[1] * a[1] + a[2] * a[2]) *
                                  (b[0] * b[0] + b[1] * b[1] + b[2] * b[2])));
    const double whole =
        sqrt(normal[0] * normal[0] + normal[1] * normal[1] + normal[2] * normal[2]);
    const double share = (normal[2] > 0 ? -1 : 1) * unit / (whole > 0 ? whole : 1);
    for (int k = 0; k < 3; k++) normal[k] *= share; /* toward the viewer: nearer */
    pose->out[0] = f * normal[0] + cx * normal[2];
    pose->out[1] = f * normal[1] + cy * normal[2];
    pose->out[2] = normal[2];
}

double pose_cell_pixels(const Pose *pose, const PanelFace *face)
{
    const double x = face->unit_x / 2, y = face->unit_y / 2;
    const PlanePoint corner[4] = {pose_place(pose, -x, y, 0), pose_place(pose, x, y, 0),
                                  pose_place(pose, x, -y, 0), pose_place(pose, -x, -y, 0)};
    return sqrt(fabs(quad_area(corner)));
}
