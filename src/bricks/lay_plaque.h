/* Lay plaque: fills a plaque with bricks, tier by tier.
 *
 * What lies behind is solid, so a brick always rests on the tier below, and the first tier on the
 * base sheet: every panel is one piece. */
#ifndef ROWLOCK_BRICKS_LAY_PLAQUE_H
#define ROWLOCK_BRICKS_LAY_PLAQUE_H

#include "base/voice.h"
#include "model/laid.h"
#include "model/laying.h"

/* See lay() in lay.h. */
Status lay_plaque(const LayTask *task, const LayOptions *options, Laid *laid_out,
                  LayReport *report_out, const Voice *voice, Fault *fault);

#endif
