/* Map frame: where the cells lie on a picture that goes with the reference: a map, a mask,
 * strokes. */
#ifndef ROWLOCK_RELIEF_MAP_FRAME_H
#define ROWLOCK_RELIEF_MAP_FRAME_H

#include "base/status.h"
#include "picture/sample.h"

/* How the cells lie on the reference, in its upright pixels. */
typedef struct DepthFrame {
    int columns, rows;    /* cells */
    double width, height; /* of the reference */
    Crop cut;             /* what the user cut out of it; all of it where nothing was */
    Crop crop;            /* what the cells show */
} DepthFrame;

/* What the cells show of a picture of so many pixels, which has the shape of the whole reference
 * or of its cut, to within a pixel or a hundredth. Fault: another shape. */
Status map_frame_place(const DepthFrame *frame, double width, double height, const char *path,
                       Crop *crop_out, Fault *fault);

#endif
