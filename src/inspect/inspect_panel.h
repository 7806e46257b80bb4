/* Inspect panel: the run of a photograph of a panel that is held to its plan. */
#ifndef ROWLOCK_INSPECT_INSPECT_PANEL_H
#define ROWLOCK_INSPECT_INSPECT_PANEL_H

#include "inspect/inspection.h"

/* Who is told what was seen; NULL members are not. */
typedef struct InspectionEar {
    void *self;
    void (*line)(void *self, const char *line); /* for each brick that is not seen to be right */
    /* All that was seen, once. */
    void (*whole)(void *self, const Inspection *inspection);
} InspectionEar;

/* Looks, tells the ear, and writes the files of a job that has an out. STATUS_UNHELD where there is
 * such a brick. Faults as of inspection_look, and of files that cannot be written. */
Status inspect_panel(const InspectionAsk *ask, const Voice *voice, const InspectionEar *ear,
                     Fault *fault);

#endif
