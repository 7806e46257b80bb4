/* Outputs: what the folder of a plan holds beside plan.json, written side by side. */
#ifndef ROWLOCK_PLAN_OUTPUTS_H
#define ROWLOCK_PLAN_OUTPUTS_H

#include "base/folder.h"
#include "base/output_list.h"
#include "base/voice.h"
#include "figures/mural.h"
#include "output/plan_json.h"

/* Writes the files that the mural's job wants, with names and digests out in the order of a
 * plan's list. Of several that cannot be written the first in that order is told. Once the
 * voice is stopped files are missing, and it is for the caller to ask. */
Status outputs_write(const Mural *mural, int threads, const Folder *folder, const Voice *voice,
                     PlanFile files_out[OUTPUTS_OF_PLAN], size_t *count_out, Fault *fault);

/* Every name that a plan may hold, in this or another version or build. */
bool outputs_is_ours(const char *name);

#endif
