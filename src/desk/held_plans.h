/* Held plans: the plans that a photograph of a panel can be held to: the one that the desk wrote,
 * and the one beside the working folder that has its name. A built mural is that second one while
 * its plan is changed on the desk. */
#ifndef ROWLOCK_DESK_HELD_PLANS_H
#define ROWLOCK_DESK_HELD_PLANS_H

#include "desk/commission.h"

enum { HELD_PLANS = 2 };

/* The folder of the plan of this number; false where there is none. */
bool held_plan_folder(const Commission *commission, int plan, char path_out[ROWLOCK_SETTING_TEXT]);

/* A list of HELD_PLANS names of folders, null where there is no plan. NULL: no memory. */
json_t *held_plans_tell(const Commission *commission);

#endif
