/* Light levels: a photograph at falling sizes, as the logarithm of its light.
 *
 * In logarithms what a lamp does to a surface is added, whatever the surface, so that slow terms
 * take it away. Each level halves the one before it, by means of linear light. */
#ifndef ROWLOCK_INSPECT_LIGHT_LEVELS_H
#define ROWLOCK_INSPECT_LIGHT_LEVELS_H

#include "camera/photo.h"

enum { LEVELS_MOST = 8, LEVEL_FIRST = 1280, LEVEL_LAST = 40 }; /* pixels of the longer side */

typedef struct LightLevel {
    int width, height;
    double scale; /* pixels of the photograph in one of it, each way */
    float *value; /* height x width x 3, the top row first, and one more */
} LightLevel;

typedef struct LightLevels {
    int count;
    LightLevel level[LEVELS_MOST]; /* the largest first */
} LightLevels;

/* The logarithm of linear light, white at 1. What is darker than a
 * fiftieth of white is told apart less and less, as noise and stray light are most there. */
float level_log(double light);

/* light_levels_clear also after a fault: no memory. */
Status light_levels_init(LightLevels *levels_out, const Photo *photo, int threads, Fault *fault);
void light_levels_clear(LightLevels *levels);

/* The smallest level on which `length` pixels of the photograph are at least `least` long. */
const LightLevel *light_level_for(const LightLevels *levels, double length, double least);

/* The values at a place of the photograph, and their slopes by its pixels. */
typedef struct LevelSample {
    float value[3], across[3], down[3];
} LevelSample;
LevelSample light_level_at(const LightLevel *level, double x, double y);

#endif
