/* Lock file: keeps a second run out of what one run writes.
 *
 * The lock lies on a file that nobody renames. It holds the number of the process that has it, so
 * that others can be told who does; it is removed by whoever holds it, and a run that waited for
 * a file that is removed since takes a new one. */
#ifndef ROWLOCK_BASE_LOCK_FILE_H
#define ROWLOCK_BASE_LOCK_FILE_H

#include "base/status.h"

enum { LOCK_FILE_PATH = 4096 };

typedef struct LockFile {
    char path[LOCK_FILE_PATH];
    int descriptor;
} LockFile;

/* Takes the lock at path, waiting up to two seconds for a run that is ending. Fault
 * (STATUS_NO_CREATE), which `asked` opens: the file cannot be made, or another run has it. */
Status lock_file_take(LockFile *lock_out, const char *path, const char *asked, Fault *fault);

/* Removes the file and lets go. */
void lock_file_release(LockFile *lock);

#endif
