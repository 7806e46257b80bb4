/* Standing: what of a show's mural is built already, as the plan in its folder has it.
 *
 * Bricks that stand stay as they are: their cells ask nothing of the shelf, and what decides the
 * mural's size, relief and panels must be as it was. */
#ifndef ROWLOCK_SHOW_STANDING_H
#define ROWLOCK_SHOW_STANDING_H

#include "base/status.h"
#include "show/show_file.h"

#include <stdbool.h>

typedef struct Standing {
    size_t cells; /* of the mural; 0: nothing of it stands */
    bool *cell;   /* rows x columns: a brick that stands shows there; NULL: nothing stands */
    size_t shown; /* how many these are */
    long units;   /* of all bricks that stand */
} Standing;

/* Of a mural without `built` nothing stands. job: as it is to be planned. Faults: no plan in the
 * job's folder or a damaged one, a setting that was another, what the list names is not there.
 * standing_clear also after a fault. */
Status standing_init(Standing *standing_out, const ShowMural *mural, const Job *job, Fault *fault);
void standing_clear(Standing *standing);

#endif
