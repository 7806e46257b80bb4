/* Folder: a plan's files appear whole or not at all, and once they are there a loss of power
 * takes neither them nor the earlier plan.
 *
 * They are written into a hidden folder beside the one asked for, which takes its place in one
 * step at the end; until then an earlier plan stays as it was, whatever stops the run. All is on
 * the disk before that step, and the earlier plan goes only after it. Files of the user's own that
 * lie in the earlier folder move along. A folder that is none of ours is not written to where it
 * holds a file of one of our names. */
#ifndef ROWLOCK_BASE_FOLDER_H
#define ROWLOCK_BASE_FOLDER_H

#include "base/lock_file.h"
#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

enum { FOLDER_PATH = 4096 };

/* What a folder holds that a run may replace. */
typedef struct FolderKind {
    bool (*ours)(const char *name); /* names that are replaced; "NAME/FILE" in a folder of ours */
    const char *mark;               /* of these the file that every such folder has */
    const char *mark_text;          /* stands within its first 4096 bytes */
} FolderKind;

typedef struct Folder {
    const FolderKind *kind;
    char asked[FOLDER_PATH];   /* as the user gave it, for messages */
    char final[FOLDER_PATH];   /* where it will stand */
    char parent[FOLDER_PATH];  /* the folder that holds both */
    char partial[FOLDER_PATH]; /* where it is written */
    LockFile lock;             /* keeps a second run out */
    bool begun;
} Folder;

/* Makes the hidden folder; what a killed run left there is cleared away. Faults
 * (STATUS_NO_CREATE): a file is in the way, no permission, another run is writing the same folder,
 * or it holds what is the user's own and cannot be kept. kind is borrowed until the end. */
Status folder_begin(Folder *folder_out, const char *path, const FolderKind *kind, Fault *fault);

/* The path to write file `name` at, in the hidden folder. */
void folder_path(const Folder *folder, const char *name, char path_out[FOLDER_PATH]);

/* Puts the hidden folder in its place. Files of the earlier folder that are ours go; all others
 * are kept. Fault: STATUS_NO_CREATE, or STATUS_IO where the disk does not take the files. */
Status folder_commit(Folder *folder, Fault *fault);

/* Removes the hidden folder. Does nothing after folder_commit or without folder_begin. */
void folder_abandon(Folder *folder);

/* folder/name; false where that is too long. */
bool folder_join(char path_out[FOLDER_PATH], const char *folder, const char *name);

/* Reads a whole file of a finished folder; *bytes_out is followed by a 0 and is the caller's to
 * free with memory_free. Faults: missing (STATUS_NO_INPUT), broken off, no memory. */
Status folder_read(const char *folder, const char *name, char **bytes_out, size_t *length_out,
                   Fault *fault);

#endif
