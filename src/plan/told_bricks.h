/* Told bricks: the bricks that a file says are laid, such as the page at the bench saves: a table
 * with columns as bricks.csv has them. */
#ifndef ROWLOCK_PLAN_TOLD_BRICKS_H
#define ROWLOCK_PLAN_TOLD_BRICKS_H

#include "plan/plan_reader.h"

#include <stdbool.h>

/* Marks those of the plan's bricks, in building order, that the file tells of. Faults: no such
 * file, no such table, a brick that the plan has not. */
Status told_bricks_mark(const EarlierPlan *earlier, const char *path, bool *mark, Fault *fault);

/* Those that were laid but have to come off. */
typedef struct LooseBricks {
    size_t count;
    Brick first;
} LooseBricks;

/* Takes the marks off bricks that the rest cannot be planned around: of a wall's course that is not
 * whole, or that stands on one; of a relief, over a unit that is not filled yet. Fault: a panel
 * with a hollow core stands in part. */
Status told_bricks_settle(const EarlierPlan *earlier, bool *mark, LooseBricks *loose_out,
                          Fault *fault);

#endif
