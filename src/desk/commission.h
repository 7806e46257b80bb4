/* Commission: the mural that lies on the desk. Its versions and files, what is being planned of it,
 * and what the page is told.
 *
 * All of it belongs to the thread that answers; the worker and the viewer only wake that. */
#ifndef ROWLOCK_DESK_COMMISSION_H
#define ROWLOCK_DESK_COMMISSION_H

#include "desk/bench_beside.h"
#include "desk/trail.h"
#include "desk/viewer.h"
#include "desk/worker.h"
#include "desk/working_folder.h"
#include "serve/looker.h"

typedef struct Commission {
    WorkingFolder folder;
    Trail *trail;
    Worker *worker;
    Viewer *viewer;
    Looker *looker;
    BenchBeside *bench; /* NULL: none was opened */
    void (*wake)(void *self);
    void *self;
    char title[128]; /* what the page is called */
} Commission;

/* Opens what the command line names: a picture, a job file, a plan's folder, or a working folder;
 * NULL is a new one. Its working folder, NAME.desk beside it, is made; or where it is there
 * already, the work goes on as it was left. note tells the user of that. The caller closes it, also
 * after a fault. Faults: what is named is missing or wrong, the folder cannot be had. */
Status commission_open(Commission *commission_out, const char *operand, void (*wake)(void *self),
                       void *self, Fault *fault);
void commission_close(Commission *commission);

/* The news of the other threads are taken up: figures go into the trail. */
void commission_refresh(Commission *commission);

/* Grows with whatever the page is told. */
unsigned long commission_serial(const Commission *commission);

/* What the page is told at each news; with the cells of the face and the colours, if the face is
 * another than the one whose number the page knows, 0: none. NULL: no memory. */
json_t *commission_state(const Commission *commission, unsigned long known_face);
json_t *commission_versions(const Commission *commission); /* all of them; NULL: no memory */

/* A change of settings: an object of names and texts. */
typedef struct Change {
    const json_t *settings;
    const char *what; /* a few words on it, for the strip; NULL: the names tell */
    long gesture;     /* see trail_add */
} Change;

/* A version is made, saved and planned. */
Status commission_change(Commission *commission, const Change *change, Fault *fault);

/* Keeps a file that came in for this setting; name_out is what a change may call it. */
Status commission_keep(Commission *commission, const char *setting, Incoming *incoming,
                       char name_out[WORKING_NAME], Fault *fault);

/* Takes up a file that was kept, with all else that the change sets, as one version; its settings
 * may be NULL. Of a picture what was drawn on the earlier one is given up. */
Status commission_bring(Commission *commission, const char *setting, const char *name,
                        const Change *change, Fault *fault);

/* The path of the file that the version on the wall has for a setting; false where it has none. */
bool commission_brought_path(const Commission *commission, const char *setting,
                             char path_out[ROWLOCK_SETTING_TEXT]);

/* Goes to a version: undo, redo, or any of the strip. */
Status commission_go(Commission *commission, int version, Fault *fault);

/* Opens the bench of the written plan, or says where it is open: *link_out, which lasts until the
 * bench ends; NULL: it is not open yet, and `wake` tells when. Faults: there is no plan, or what
 * the bench itself says, once; then it may be opened again. */
Status commission_bench(Commission *commission, const char **link_out, Fault *fault);

/* Writes the plan; the bench of the one that was there before is closed. */
Status commission_make(Commission *commission, Fault *fault);

/* A job that comes to the face of a version as it was planned, without planning it: its cells are
 * those of its small picture. The caller frees *job_out. Fault: no such version, or none planned.
 */
Status commission_face_job(RowlockJob **job_out, const Commission *commission, int version,
                           Fault *fault);

/* The name in the working folder of a version's small picture. */
void commission_small_name(int version, char name_out[WORKING_NAME]);

/* The folder of the written plan, whether it is there or not; false: no memory. */
bool commission_made_folder(const Commission *commission, char path_out[ROWLOCK_SETTING_TEXT]);

/* The path of a file of the written plan, if `name` is one that plans have. */
bool commission_made_path(const Commission *commission, const char *name,
                          char path_out[ROWLOCK_SETTING_TEXT]);

#endif
