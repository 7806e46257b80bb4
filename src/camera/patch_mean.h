/* Patch mean: the light of the middle of a patch in a photograph, whatever shines or lies on it. */
#ifndef ROWLOCK_CAMERA_PATCH_MEAN_H
#define ROWLOCK_CAMERA_PATCH_MEAN_H

#include "camera/homography.h"
#include "camera/photo.h"

/* Pixels that are taken at most, evenly out of more, and at least. */
enum { PATCH_PIXELS_MOST = 4096, PATCH_PIXELS_LEAST = 12 };

typedef struct PatchMean {
    double light[3]; /* mean of what is kept, 0 to 1, linear, the photograph's primaries */
    double error;    /* standard error of that mean, in parts of it */
    int pixels;      /* that were looked at; 0 of a place that is beyond the photograph */
    double full;     /* share of pixels at the most that the file can hold, in any channel */
    double empty;    /* share of pixels with a channel at nothing */
    double shine;    /* share that is far lighter than the most of them: glare, dust, an edge */
    double spread;   /* of the light of those kept, in parts of it: a plain patch has little */
} PatchMean;

/* Means over the part about the middle of the quadrilateral that is `part` times as wide and as
 * high. False where it holds fewer pixels than the least, or lies beyond the photograph. */
bool patch_mean(PatchMean *mean_out, const Photo *photo, const PlanePoint corner[4], double part);

#endif
