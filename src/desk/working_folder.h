/* Working folder: what the desk keeps on the disk. Every name in it is ours; nothing that a
 * request says becomes a part of a path. A file is there whole or not at all: it is written beside
 * and renamed, so that a desk that is killed at any moment finds what it had. What is written is
 * there at once; that the disk has it, too, a settler sees to, and nobody waits for that. */
#ifndef ROWLOCK_DESK_WORKING_FOLDER_H
#define ROWLOCK_DESK_WORKING_FOLDER_H

#include "base/lock_file.h"
#include "base/status.h"
#include "desk/settler.h"
#include "serve/incoming.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

enum {
    WORKING_PATH = INCOMING_PATH, /* bytes of a path in it, which is a setting's text too */
    WORKING_NAME = SETTLER_NAME,  /* of a name in it */
    WORKING_ROOM = WORKING_PATH - 2 * WORKING_NAME /* of its own path */
};

#define WORKING_ENDING ".desk" /* of its name, after that of what lies beside it */

typedef struct WorkingFolder {
    char path[WORKING_ROOM];
    LockFile lock;
    Settler *settler;
} WorkingFolder;

/* Makes the folder, or opens the one that an earlier desk left. Faults (STATUS_NO_CREATE): cannot
 * be made, another desk has it, it holds something else. */
Status working_folder_open(WorkingFolder *folder_out, const char *path, Fault *fault);
void working_folder_close(WorkingFolder *folder); /* when the disk has all of it */

/* The path of a file in it. */
void working_folder_path(const WorkingFolder *folder, const char *name,
                         char path_out[WORKING_PATH]);

/* Puts a whole file in place of what has the name. Fault: STATUS_IO. */
Status working_folder_write(const WorkingFolder *folder, const char *name, const void *bytes,
                            size_t length, Fault *fault);

/* The same, of a file that is to be renamed. Fault: STATUS_IO. */
Status working_folder_draft(const WorkingFolder *folder, const char *name, const void *bytes,
                            size_t length, Fault *fault);

/* Gives a whole file another name, in place of what has that. Fault: STATUS_IO. */
Status working_folder_rename(const WorkingFolder *folder, const char *name, const char *new_name,
                             Fault *fault);

/* Adds to the end of a file. Fault: STATUS_IO. */
Status working_folder_append(const WorkingFolder *folder, const char *name, const void *bytes,
                             size_t length, Fault *fault);

/* Cuts a file to its first `length` bytes, which is where a write broke off. */
void working_folder_cut(const WorkingFolder *folder, const char *name, size_t length);

bool working_folder_has(const WorkingFolder *folder, const char *name);

/* Closes a folder in which no work was begun, and takes it away if nothing else is in it. */
void working_folder_abandon(WorkingFolder *folder);

/* Keeps a file that came in under the first free name STEM-N.ENDING, N from 1, which is put into
 * name_out. Fault: STATUS_IO. */
Status working_folder_keep(const WorkingFolder *folder, Incoming *incoming, const char *stem,
                           const char *ending, char name_out[WORKING_NAME], Fault *fault);

#endif
