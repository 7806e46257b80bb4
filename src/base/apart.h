/* Apart: work that a library may bring down is done in a child process.
 *
 * A library that runs out of memory may end the whole program, which nobody who calls ours has
 * asked for. What the work writes to files stays; its changes of memory are lost with the child.
 * The end of the child by a signal is a fault like any other. */
#ifndef ROWLOCK_BASE_APART_H
#define ROWLOCK_BASE_APART_H

#include "base/status.h"
#include "base/voice.h"

/* The work; its voice has progress alone, and nobody needs to ask it whether to stop. */
typedef Status ApartWork(void *context, const Voice *voice, Fault *fault);

/* Does the work in a child process and returns what it returned. `place` opens the faults: no
 * process can be had, or it ended without a word (STATUS_NO_RESOURCE where by a signal, as when
 * memory runs out, else STATUS_INTERNAL), or the voice asked to stop (STATUS_INTERRUPTED). Other
 * threads of this process go on; what they hold at that moment, but for the C library's own
 * locks, is held for ever in the child. So the work must need no lock of theirs. */
Status apart_run(const char *place, ApartWork *work, void *context, const Voice *voice,
                 Fault *fault);

#endif
