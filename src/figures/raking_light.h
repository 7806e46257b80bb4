/* Raking light: how much of a lamp that rakes along a relief, and of the room's light, reaches a
 * point of it.
 *
 * Every cell is a flat face at its height. A point sees the lamp if no cell between stands above
 * the line to it; the lamp is a disc some degrees wide, so shadows have a soft edge. Of the room a
 * point sees the less, the higher cells stand around it. */
#ifndef ROWLOCK_FIGURES_RAKING_LIGHT_H
#define ROWLOCK_FIGURES_RAKING_LIGHT_H

#include "base/status.h"

#include <stddef.h>

/* A relief to be lit. Lengths are mm from its lower left corner and its back. Borrowed. */
typedef struct LitFace {
    int columns, rows;
    double cell_width, cell_height;
    double knob;         /* mm that a round knob on each cell stands out; 0: there are none */
    const float *height; /* of each cell */
} LitFace;

typedef struct RakingLightOptions {
    double angle;   /* degrees, clockwise from above: where the lamp is; 270 is the left */
    double height;  /* degrees off the wall, above 0 to 90 */
    double ambient; /* share of the room in the light on a flat face, 0 to 1 */
} RakingLightOptions;

#define RAKING_LIGHT_OPTIONS_DEFAULT                                                               \
    ((RakingLightOptions){.angle = 315, .height = 25, .ambient = 0.4})

/* Of a knob, in cells. Common practice, no source. */
#define KNOB_RADIUS 0.3

/* A direction along the face, and how far apart a line that way crosses columns and rows. */
typedef struct RakingWay {
    double dx, dy;       /* a unit vector, to the right and up */
    double across, down; /* mm between columns and between rows; INFINITY for none */
    double reach;        /* mm that are looked at */
    double least;        /* a tangent below which the horizon does not matter */
} RakingWay;

RakingWay raking_way(const LitFace *face, double dx, double dy, double reach, double least);

/* The tangent of the highest elevation at which a cell stands above the point (right, up, out);
 * 0 where none does, and anything up to `least` where it is no higher than that. No height on the
 * way is above `most`. */
double raking_horizon(const LitFace *face, double most, const double point[3],
                      const RakingWay *way);

enum { RAKING_STRIPES = 7, RAKING_SKIES = 8, RAKING_QUARTERS = 4 };

/* The lamp's disc is cut upright into stripes of one width. */
typedef struct RakingStripe {
    RakingWay way;
    double low, high; /* elevations of its ends */
    double most;      /* the tangent of the upper; way.least is that of the lower */
    double share;     /* of the disc */
} RakingStripe;

typedef struct RakingLight {
    LitFace face;
    double ambient;
    double lamp[3]; /* unit vector to its middle: right, up, out */
    RakingStripe stripe[RAKING_STRIPES];
    RakingWay to_sky[RAKING_SKIES];
    float *peak[RAKING_QUARTERS]; /* the greatest height nearby of each cell, by quarter */
    float
        *beyond[RAKING_QUARTERS]; /* the greatest height of all cells of a quarter; NULL: no lamp */
} RakingLight;

/* raking_light_clear also after a fault. */
Status raking_light_init(RakingLight *light_out, const LitFace *face,
                         const RakingLightOptions *options, Fault *fault);
void raking_light_clear(RakingLight *light);

/* Light on a point of a cell whose face rises by `slope` to the right and up; 1 is a flat face
 * that nothing shades. */
double raking_light_at(const RakingLight *light, int column, int row, const double point[3],
                       const double slope[2]);

#endif
