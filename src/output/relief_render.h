/* Relief render: relief.png, the solid seen from the front under a lamp that rakes along the wall.
 *
 * Every cell is a flat face at its height. A point sees the lamp if no cell between stands
 * above the line to it; the lamp is a disc some degrees wide, so shadows have a soft edge. A plaque
 * has its knobs, which cast shadows as well.
 * What the lamp does not reach has the room's light, less where higher cells stand around.
 * Bricks' edges are slight bevels. All sums are in linear light. */
#ifndef ROWLOCK_OUTPUT_RELIEF_RENDER_H
#define ROWLOCK_OUTPUT_RELIEF_RENDER_H

#include "base/voice.h"
#include "figures/mural.h"

typedef struct ReliefRenderOptions {
    double angle;   /* degrees, clockwise from above: where the lamp is; 270 is the left */
    double height;  /* degrees off the wall, above 0 to 90 */
    double ambient; /* share of the room in the light on a flat face, 0 to 1 */
} ReliefRenderOptions;

#define RELIEF_RENDER_OPTIONS_DEFAULT                                                              \
    ((ReliefRenderOptions){.angle = 315, .height = 25, .ambient = 0.4})

/* Four to twelve pixels a cell, fewer where the picture would pass 12000 pixels. */
Status relief_render_write(const Mural *mural, const ReliefRenderOptions *options, const char *path,
                           const Voice *voice, Fault *fault);

/* A direction along the face, and how far apart a line that way crosses columns and rows. */
typedef struct RenderWay {
    double dx, dy;       /* a unit vector, to the right and up */
    double across, down; /* mm between columns and between rows; INFINITY for none */
    double reach;        /* mm that are looked at */
    double least;        /* a tangent below which the horizon does not matter */
} RenderWay;

RenderWay relief_render_way(const Mural *mural, double dx, double dy, double reach, double least);

/* The tangent of the highest elevation at which a cell stands above the point (right, up, out);
 * 0 where none does, and anything up to `least` where it is no higher than that. Lengths
 * in mm from the mural's lower left corner and its back; no height on the way is above `most`. */
double relief_render_horizon(const Mural *mural, const float *height, double most,
                             const double point[3], const RenderWay *way);

#endif
