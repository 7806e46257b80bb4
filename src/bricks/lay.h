/* Lay: fills the solid with bricks of the brick set, panel by panel. */
#ifndef ROWLOCK_BRICKS_LAY_H
#define ROWLOCK_BRICKS_LAY_H

#include "base/voice.h"
#include "model/laid.h"
#include "model/laying.h"

/* Appends the bricks, without those that stand, to *laid_out (initialised by the caller to {0}) in
 * building order. voice may be NULL. Fault: a cell that no brick of the set can cover, named by
 * column and row (from 1); *laid_out is then not to be used, but to be cleared. */
Status lay(const LayTask *task, const LayOptions *options, Laid *laid_out, LayReport *report_out,
           const Voice *voice, Fault *fault);

#endif
