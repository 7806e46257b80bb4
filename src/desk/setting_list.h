/* Setting list: a job as names and texts, which the desk keeps, sends and saves.
 *
 * A list is a JSON object with the text of each setting that is not as a new job has it. Files are
 * named as the job file in the working folder names them: from that folder on, or from the root.
 * What the page may set is what stands in the library's table; a setting added there is here. */
#ifndef ROWLOCK_DESK_SETTING_LIST_H
#define ROWLOCK_DESK_SETTING_LIST_H

#include "desk/working_folder.h"
#include "rowlock.h"

#include <jansson.h>

/* The setting of this name; false where there is none. */
bool setting_named(const char *name, RowlockSetting *setting_out);

/* Whether the page may set it: all that belongs to a plan but where it is written, and how much
 * the program may use. */
bool setting_is_open(const RowlockSetting *setting);

/* The table as JSON, for the page's form: what may be set. NULL: no memory. */
json_t *setting_list_table(void);

/* The list of a job whose files are named from the current folder. The caller owns *list_out. */
Status setting_list_of_job(json_t **list_out, const RowlockJob *job, const WorkingFolder *folder,
                           Fault *fault);

/* A job of the list, its files named through the working folder, as reading the job file there
 * gives it. Faults: a name or a text that the library refuses. */
Status setting_list_job(RowlockJob **job_out, const json_t *list, const WorkingFolder *folder,
                        Fault *fault);

/* The name's stem of files that came in for a setting; after it stand a number and an ending. */
const char *setting_stem(const RowlockSetting *setting);

/* A list with these changes, an object of names and texts, held to the table; a text that is the
 * fallback leaves the list. A file is emptied, or one that came in for this setting. *what_out, the
 * caller's, says in a few words what changed. */
Status setting_list_change(json_t **list_out, char **what_out, const json_t *list,
                           const json_t *changes, const WorkingFolder *folder, Fault *fault);

/* Saves the list as the job file of the folder, and makes sure that it reads back as it is. */
#define JOB_FILE "job.ini"
Status setting_list_save(const json_t *list, const WorkingFolder *folder, Fault *fault);

/* The library's fault as ours. */
Status told(Fault *fault, const RowlockFault *other);

#endif
