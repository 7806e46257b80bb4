/* Settler: sees to it that the disk has what was written into a folder, in a thread of its own, so
 * that nobody who is answered waits for the disk. What is noted is begun with at once: a kill takes
 * nothing of it, and a loss of power what the last moment brought. */
#ifndef ROWLOCK_DESK_SETTLER_H
#define ROWLOCK_DESK_SETTLER_H

#include "base/status.h"

typedef struct Settler Settler;

enum { SETTLER_NAME = 64 }; /* bytes of a name that is noted, its end among them */

/* For files of this folder, which is to outlive it. The caller frees *settler_out. */
Status settler_create(Settler **settler_out, const char *folder, Fault *fault);

/* Waits until the disk has all that was noted. NULL is allowed. */
void settler_free(Settler *settler);

/* The file of this name has its name and its bytes. From any thread. */
void settler_note(Settler *settler, const char *name);

/* What the disk said last, if it did not take what was written: STATUS_IO. *turns_out grows
 * whenever that changes. */
Status settler_state(Settler *settler, unsigned long *turns_out, Fault *fault);

#endif
