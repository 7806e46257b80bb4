/* A picture that goes with the reference was made on the whole of it or on the cut, at whatever
 * size; which of the two is told by its shape. */
#include "relief/map_frame.h"

#include <math.h>
#include <stdbool.h>

/* Whether one size is another's, scaled, to within a pixel or a hundredth. */
static bool same_aspect(double width, double height, double of_width, double of_height)
{
    const double other = width * of_height / of_width;
    return fabs(other - height) <= fmax(1, 0.01 * height);
}

Status map_frame_place(const DepthFrame *f, double width, double height, const char *path,
                       Crop *crop_out, Fault *fault)
{
    Crop of = {0, 0, f->width, f->height};
    if (!same_aspect(width, height, of.width, of.height)) of = f->cut;
    if (!same_aspect(width, height, of.width, of.height))
        return fault_set(fault, STATUS_DATA,
                         "%s: is %.0f x %.0f, not the shape of the reference, %.0f x %.0f, or of "
                         "its crop; cut it alike",
                         path, width, height, f->width, f->height);
    const double across = width / of.width, down = height / of.height;
    Crop c = {(f->crop.x - of.x) * across, (f->crop.y - of.y) * down, f->crop.width * across,
              f->crop.height * down};
    c.x = fmin(fmax(c.x, 0), width); /* rounding must not reach out of the map */
    c.y = fmin(fmax(c.y, 0), height);
    c.width = fmin(c.width, width - c.x);
    c.height = fmin(c.height, height - c.y);
    *crop_out = c;
    return STATUS_OK;
}
