/* Show folder: the folder of an exhibition. In it stand a folder for each mural, `shelf` with what
 * each may take of the stock, and the show's own files; a hidden folder keeps what a run that goes
 * on must know. The show's own files are written beside their places and moved there one after
 * another, show.json, which has the digests of all others, last. */
#ifndef ROWLOCK_SHOW_SHOW_FOLDER_H
#define ROWLOCK_SHOW_SHOW_FOLDER_H

#include "base/digest.h"
#include "base/folder.h"
#include "base/lock_file.h"
#include "base/status.h"

typedef struct ShowFolder {
    char path[FOLDER_PATH]; /* as the user gave it, without a slash at its end */
    LockFile lock;
    bool begun;
} ShowFolder;

/* Makes it where it is not there. Faults (STATUS_NO_CREATE): another run has it, a file is in the
 * way, it is a plan's folder, or it holds a file of one of our names that is none of a show's. */
Status show_folder_begin(ShowFolder *folder_out, const char *path, Fault *fault);
void show_folder_end(ShowFolder *folder);

/* Makes the folder of what murals may take of the shelf, where it is not there. */
Status show_folder_make_shelf(const ShowFolder *folder, Fault *fault);

/* Of a mural's plan, and of what it may take of the shelf. */
void show_folder_mural(const ShowFolder *folder, const char *mural, char path_out[FOLDER_PATH]);
void show_folder_shelf(const ShowFolder *folder, const char *mural, char path_out[FOLDER_PATH]);

/* Where a file of the show is written until it is moved into its place. */
void show_folder_partial(const ShowFolder *folder, const char *name, char path_out[FOLDER_PATH]);

/* Moves these files into their places in this order, all of them on the disk by then. A name of
 * which there is no partial file is removed from the folder. */
Status show_folder_publish(const ShowFolder *folder, const char *const *name, int names,
                           Fault *fault);

/* What is known of a mural that was planned: the key of what it was made from, the digest of its
 * plan.json, and how planning ended. */
typedef struct MadeRecord {
    char key[DIGEST_TEXT], plan[DIGEST_TEXT];
    Status status; /* STATUS_OK or STATUS_UNHELD */
} MadeRecord;

/* False where nothing is known. */
bool show_folder_recall(const ShowFolder *folder, const char *mural, MadeRecord *record_out);
Status show_folder_record(const ShowFolder *folder, const char *mural, const MadeRecord *record,
                          Fault *fault);

#endif
