/* Work plan: what of a plan's folder is built at the bench. Bricks are counted as the build book
 * counts them: panel by panel, each in building order. */
#ifndef ROWLOCK_BENCH_WORK_PLAN_H
#define ROWLOCK_BENCH_WORK_PLAN_H

#include "base/status.h"

enum { WORK_PATH = 4096, PANEL_NAME = 24, PLAN_DIGEST = 65 };

typedef struct WorkPanel {
    char name[PANEL_NAME];
    int first, bricks; /* of the plan's bricks */
} WorkPanel;

typedef struct WorkPlan {
    char folder[WORK_PATH];
    char name[128];           /* the folder's own */
    char digest[PLAN_DIGEST]; /* of the build book, under which progress is kept */
    WorkPanel *panel;
    int panels, bricks;
} WorkPlan;

/* Reads a plan's folder; the caller clears it, also after a fault. Faults: it is no plan's, or has
 * no build book. */
Status work_plan_read(WorkPlan *plan_out, const char *folder, Fault *fault);
void work_plan_clear(WorkPlan *plan);

/* The path of a file in the folder. Fault: it is too long. */
Status work_plan_path(const WorkPlan *plan, const char *name, char path_out[WORK_PATH],
                      Fault *fault);

/* The panel of this name; -1: there is none. */
int work_plan_panel(const WorkPlan *plan, const char *name);

#endif
