/* Handle: what the public header keeps from its users, and how the inside's faults become theirs.
 */
#ifndef ROWLOCK_API_HANDLE_H
#define ROWLOCK_API_HANDLE_H

#include "base/status.h"
#include "model/job.h"
#include "rowlock.h"

struct RowlockJob {
    Job job;
};

/* Hands a fault of the inside out, and returns the status. A text that was left by what did not
 * matter in the end is not handed out. */
RowlockStatus handle_tell(RowlockFault *fault_out, const Fault *fault, Status status);

/* The setting of this name. Fault: there is none. */
Status handle_setting(const Setting **setting_out, const char *name, Fault *fault);

/* Fault, which `where` opens: a name that is empty or longer than the inside has room for. */
Status handle_path(const char *path, const char *where, Fault *fault);

#endif
