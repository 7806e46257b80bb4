/* Plaque layer: each tier is one layer of labels, tiled on its own.
 *
 * What lies behind is solid, so a brick always rests on the tier below, and the
 * first tier on the base sheet: every panel is one piece. Over a hollow core the bricks
 * that bridge it are placed first (see corbel.h), and the rest of the tier is tiled. */
#ifndef ROWLOCK_BRICKS_LAY_PLAQUE_H
#define ROWLOCK_BRICKS_LAY_PLAQUE_H

#include "base/voice.h"
#include "model/grid.h"
#include "model/laid.h"
#include "model/laying.h"
#include "model/panel.h"
#include "model/sizes.h"

/* See lay() in lay.h. */
Status lay_plaque(const Solid *solid, const Sizes *sizes, const Panels *panels,
                  const LayOptions *options, Laid *laid_out, LayReport *report_out,
                  const Voice *voice, Fault *fault);

#endif
