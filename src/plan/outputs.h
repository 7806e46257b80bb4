/* Outputs: what the folder of a plan holds, written side by side. */
#ifndef ROWLOCK_PLAN_OUTPUTS_H
#define ROWLOCK_PLAN_OUTPUTS_H

#include "base/folder.h"
#include "base/voice.h"
#include "figures/mural.h"

/* Writes the files that the mural's job wants, and at last plan.json, which lists them with their
 * digests. Of several that cannot be written the first in the order of that list is told. Once the
 * voice is stopped files are missing, and it is for the caller to ask. */
Status outputs_write(const Mural *mural, int threads, const Folder *folder, const Voice *voice,
                     Fault *fault);

/* The folder of a plan: every name that it may hold, in this or another version or build. */
extern const FolderKind outputs_folder;

#endif
