/* Show: many murals with one palette, one shelf, one order, one journey and one calendar. */
#ifndef ROWLOCK_SHOW_SHOW_H
#define ROWLOCK_SHOW_SHOW_H

#include "base/voice.h"
#include "model/job.h"

/* Plans the exhibition that the file tells of into the folder job->out; of the job `threads` and
 * `memory` count too. `version` is the program's: what another one made is planned again.
 * STATUS_UNHELD: all is written, but some brick of a mural cannot be made to hold. */
Status show_run(const Job *job, const char *file, const char *version, const Voice *voice,
                Fault *fault);

#endif
