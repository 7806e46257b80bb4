/* Relief render: relief.png, the solid seen from the front under a lamp that rakes along the wall.
 *
 * raking_light.h says what of the light reaches a point. A plaque has its knobs, which cast
 * shadows as well. Bricks' edges are slight bevels. All sums are in linear light. */
#ifndef ROWLOCK_OUTPUT_RELIEF_RENDER_H
#define ROWLOCK_OUTPUT_RELIEF_RENDER_H

#include "base/voice.h"
#include "figures/mural.h"
#include "figures/raking_light.h"
#include "output/paint.h"

/* Four to twelve pixels a cell, fewer where the picture would pass 12000 pixels. */
Status relief_render_write(const Mural *mural, const RakingLightOptions *options,
                           const PaintPlace *place, const Voice *voice, Fault *fault);

#endif
