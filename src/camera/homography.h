/* Homography: how a plane in the world and its photograph lie on each other.
 *
 * A lens without distortion maps lines to lines, so places on a plane go to places in its
 * photograph by a 3 x 3 matrix in homogeneous coordinates: Hartley and Zisserman, Multiple View
 * Geometry in Computer Vision, 2nd ed., 2004, section 2.3. */
#ifndef ROWLOCK_CAMERA_HOMOGRAPHY_H
#define ROWLOCK_CAMERA_HOMOGRAPHY_H

#include <stdbool.h>

typedef struct PlanePoint {
    double x, y;
} PlanePoint;

/* Rows of three; [8] is 1 unless it is nearly nothing beside the others. */
typedef struct Homography {
    double h[9];
} Homography;

/* The one that takes each point of `from` to that of `to`; from more than four pairs, the one that
 * fits best in the sense of the normalised direct linear transform (the same book, algorithm 4.2).
 * False where the points do not determine one: fewer than four pairs, points on one another, three
 * of four on a line, or a plane that the camera would see from behind in part. */
bool homography_fit(Homography *homography_out, const PlanePoint *from, const PlanePoint *to,
                    int count);

/* Where a point goes; a point on the horizon goes to infinity. */
PlanePoint homography_apply(const Homography *homography, PlanePoint point);

/* The way back; false where there is none. */
bool homography_invert(const Homography *homography, Homography *inverse_out);

/* Whether four corners, in order around, make a quadrilateral that a rectangle can look like: no
 * corner of it is turned in, none is within a hundredth of its longest side of the line through
 * its neighbours. Either way around. */
bool quad_is_convex(const PlanePoint corner[4]);

/* The area within, positive where the corners go around clockwise with y down. */
double quad_area(const PlanePoint corner[4]);

#endif
