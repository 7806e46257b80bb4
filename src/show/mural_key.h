/* Mural key: a digest of all that a mural's plan is made from, so that it is known whether the plan
 * which stands is still the one that would be made. */
#ifndef ROWLOCK_SHOW_MURAL_KEY_H
#define ROWLOCK_SHOW_MURAL_KEY_H

#include "base/digest.h"
#include "model/job.h"

/* Of the program's version, the settings that count for a plan's files, and the bytes of the files
 * that they name, wherever these lie. Faults: a file that cannot be read, no memory. */
Status mural_key(const Job *job, const char *version, char key_out[DIGEST_TEXT], Fault *fault);

/* Whether the plan in the folder is the one with this digest of its plan.json, and all its files
 * are those that plan.json tells of. */
bool mural_is_whole(const char *folder, const char *plan_sha256);

#endif
