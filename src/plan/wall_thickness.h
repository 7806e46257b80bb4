/* Wall thickness: the fewest units with which a wall bears what its job asks. */
#ifndef ROWLOCK_PLAN_WALL_THICKNESS_H
#define ROWLOCK_PLAN_WALL_THICKNESS_H

#include "base/voice.h"
#include "clutch/holds.h"
#include "figures/mural.h"

/* Whether a job leaves the thickness to be found. */
bool thickness_is_sought(const Job *job);

/* Takes down what the joints of a wall one unit thicker than the last take; true where no more need
 * be tried. */
bool thickness_try(ThicknessTrials *trials, const Job *job, const Holds *holds, int panels);

/* Says what was found; nothing where nothing was sought. */
void thickness_say(const ThicknessTrials *trials, const Job *job, const Voice *voice);

#endif
