/* Trail: every version that a mural has had, and which of them is on the wall.
 *
 * A change makes a version after the one that it changed, and nothing ever takes one away; undo
 * goes back to where a version came from, redo on to where it was left. All of it is a journal in
 * the working folder, one line an event, so that it is there again after the desk was killed. */
#ifndef ROWLOCK_DESK_TRAIL_H
#define ROWLOCK_DESK_TRAIL_H

#include "desk/working_folder.h"

#include <jansson.h>

#define TRAIL_FILE "trail.jsonl"
enum { TRAIL_NAME = 80 }; /* bytes of a version's name */

typedef struct Version {
    int from;         /* the version it was made of; -1: none */
    int onward;       /* where redo leads; -1: nowhere */
    bool kept;        /* the user wants to find it again */
    json_t *settings; /* see setting_list */
    json_t *what;     /* a few words on the change */
    json_t *name;     /* of the user's; NULL: none */
    json_t *figures;  /* NULL until they are known */
} Version;

typedef struct Trail Trail;

/* Reads the journal; an empty one is made where there is none. What stands after a line that broke
 * off is cut away. Faults: cannot be read, no memory. The folder is borrowed until the end. */
Status trail_open(Trail **trail_out, const WorkingFolder *folder, Fault *fault);
void trail_free(Trail *trail);

int trail_count(const Trail *trail);
int trail_now(const Trail *trail); /* -1: there is no version yet */
const Version *trail_version(const Trail *trail, int number);

/* Grows whenever anything changes. */
unsigned long trail_serial(const Trail *trail);

/* The number that a version will have which trail_add makes with this gesture. */
int trail_next(const Trail *trail, long gesture);

/* A version after the present one, which it becomes. The settings are borrowed. A change of the
 * same gesture as the last, of a slider that is still held, changes that version instead; 0 is no
 * gesture. */
Status trail_add(Trail *trail, const json_t *settings, const char *what, long gesture,
                 Fault *fault);

/* Goes to a version. Fault (STATUS_USAGE): there is none of this number. */
Status trail_go(Trail *trail, int number, Fault *fault);

/* Names a version, "" for none, and keeps it or lets it be. */
Status trail_name(Trail *trail, int number, const char *name, bool kept, Fault *fault);

/* Notes the figures of a version; they are borrowed. */
Status trail_note_figures(Trail *trail, int number, const json_t *figures, Fault *fault);

#endif
