/* Viewer: a thread that draws what is to be seen of the open plan, or of a version that was planned
 * before, so that neither planning nor answering waits for a picture. */
#ifndef ROWLOCK_DESK_VIEWER_H
#define ROWLOCK_DESK_VIEWER_H

#include "base/status.h"
#include "rowlock.h"

#include <stdbool.h>

typedef struct Viewer Viewer;

/* A picture that was asked for. */
typedef struct Sight Sight;

/* The thread starts; `wake` is called from it whenever a picture is there. The plan is borrowed
 * until the end. */
Status viewer_create(Viewer **viewer_out, RowlockLive *live, void (*wake)(void *self), void *self,
                     Fault *fault);
void viewer_free(Viewer *viewer); /* NULL allowed; no sight is held any more */

/* Asks for a picture of the open plan; or, where a job is given, of the face that it comes to,
 * which is to be one that is soon there. The job is taken over. NULL where there is no memory. The
 * caller lets go with viewer_drop. */
Sight *viewer_ask(Viewer *viewer, const RowlockViewing *viewing, RowlockJob *job);

/* Whether the picture is there, or a fault in its place. */
bool viewer_is_done(Viewer *viewer, const Sight *sight);

/* Of one that is done: takes the picture, or fills the fault. */
RowlockStatus viewer_take(Viewer *viewer, Sight *sight, RowlockBytes *png_out, RowlockFault *fault);
void viewer_drop(Viewer *viewer, Sight *sight);

#endif
