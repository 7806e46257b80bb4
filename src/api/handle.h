/* Handle: what the public header keeps from its users, and how the inside's faults become theirs.
 */
#ifndef ROWLOCK_API_HANDLE_H
#define ROWLOCK_API_HANDLE_H

#include "base/status.h"
#include "model/job.h"
#include "model/palette.h"
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

/* A colour as others see it. */
RowlockColour handle_colour(const Colour *colour);

/* The voice of the inside that speaks through this one; NULL is silence. */
Voice handle_voice(const RowlockVoice *voice);

/* What a run cannot do without; `run` opens the fault: something given; somewhere to write to; a
 * folder to write to; a picture; a size, or painted cells, which have one. */
Status handle_need(bool given, const char *where, const char *what, Fault *fault);
Status handle_need_out(const Job *job, Fault *fault);
Status handle_need_folder(const Job *job, Fault *fault);
Status handle_need_picture(const char *reference, const char *run, Fault *fault);
Status handle_need_size(const Job *job, const char *run, Fault *fault);

#endif
