/* Scratch: a file or folder of a test's own, in TMPDIR, which the runner clears, or else in
 * /tmp. */
#ifndef ROWLOCK_TESTS_SCRATCH_H
#define ROWLOCK_TESTS_SCRATCH_H

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

enum { SCRATCH_MOST = 64 };

static inline bool scratch_name(char path[SCRATCH_MOST])
{
    const char *room = getenv("TMPDIR");
    const int length =
        snprintf(path, SCRATCH_MOST, "%s/rowlock-XXXXXX", room && *room ? room : "/tmp");
    return length < SCRATCH_MOST;
}

/* False where there can be none. */
static inline bool scratch_folder(char path[SCRATCH_MOST])
{
    return scratch_name(path) && mkdtemp(path);
}

static inline bool scratch_file(char path[SCRATCH_MOST])
{
    if (!scratch_name(path)) return false;
    const int descriptor = mkstemp(path);
    return descriptor >= 0 && !close(descriptor);
}

/* Removes a folder and all that is in it; 0, or what the shell said. */
static inline int scratch_clear(const char *folder)
{
    char line[SCRATCH_MOST + 16];
    snprintf(line, sizeof line, "rm -rf '%s'", folder);
    return system(line);
}

#endif
