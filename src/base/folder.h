/* Folder: a plan's files appear whole or not at all.
 *
 * They are written into a hidden folder beside the one asked for, which takes its
 * place in one step at the end; until then an earlier plan stays as it was, whatever
 * stops the run. Files of the user's own that lie in the earlier folder move along. */
#ifndef ROWLOCK_BASE_FOLDER_H
#define ROWLOCK_BASE_FOLDER_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

enum { FOLDER_PATH = 4096 };

typedef struct Folder {
    char asked[FOLDER_PATH];   /* as the user gave it, for messages */
    char final[FOLDER_PATH];   /* where it will stand */
    char partial[FOLDER_PATH]; /* where it is written */
    int lock;                  /* descriptor that keeps a second run out; -1: not begun */
} Folder;

/* Makes the hidden folder; what a killed run left there is cleared away. Faults: a file
 * is in the way, no permission, another run is writing the same folder. */
Status folder_begin(Folder *folder_out, const char *path, Fault *fault);

/* The path to write file `name` at, in the hidden folder. */
void folder_path(const Folder *folder, const char *name, char path_out[FOLDER_PATH]);

/* Puts the hidden folder in its place. `ours` says which file names of the earlier
 * folder are a plan's and go; all others are kept. */
Status folder_commit(Folder *folder, bool (*ours)(const char *name), Fault *fault);

/* Removes the hidden folder. Does nothing after folder_commit or without folder_begin. */
void folder_abandon(Folder *folder);

/* folder/name; false where that is too long. */
bool folder_join(char path_out[FOLDER_PATH], const char *folder, const char *name);

/* Reads a whole file of a finished folder; *bytes_out is followed by a 0 and is the caller's to
 * free with memory_free. Faults: missing (STATUS_NO_INPUT), broken off, no memory. */
Status folder_read(const char *folder, const char *name, char **bytes_out, size_t *length_out,
                   Fault *fault);

#endif
