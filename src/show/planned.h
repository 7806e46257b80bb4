/* Planned: a mural of the show as its finished plan tells it, whether it was planned in this run or
 * before. */
#ifndef ROWLOCK_SHOW_PLANNED_H
#define ROWLOCK_SHOW_PLANNED_H

#include "base/folder.h"
#include "model/parts.h"
#include "plan/plan_reader.h"
#include "plan/studio.h"
#include "show/show_file.h"

/* A panel, packed on its own. */
typedef struct PlannedPanel {
    char name[24];
    double width_mm, height_mm, depth_mm, kg; /* of all that is lifted and hung */
    long bricks, to_build;                    /* to_build: of these, those that do not stand yet */
    double value; /* of its bricks and hours: filled in once the order is known */
} PlannedPanel;

typedef struct Planned {
    const ShowMural *mural; /* borrowed */
    char folder[FOLDER_PATH];
    EarlierPlan *plan; /* its cells and bricks; sizes and colours of bricks are the studio's */
    double width_mm, height_mm, depth_mm; /* depth: from the wall */
    long bricks;
    Laid standing;                                   /* of its bricks, those that stand already */
    double mass_kg, whole_kg, hours, perceived_de00; /* hours: of all its bricks */
    int panels;
    PlannedPanel *panel; /* in the order of hanging */
    int *building;       /* panels' places in `panel`, in the order of building */
} Planned;

/* Reads the plan in its folder. Faults: no plan there or a damaged one, a size that the brick set
 * does not have. */
Status planned_init(Planned *planned_out, const ShowMural *mural, const char *folder,
                    const Studio *studio, Fault *fault);
void planned_clear(Planned *planned);

/* The bricks of so many murals, and what they weigh as they hang. */
long planned_sum(const Planned *planned, int count, double *kg_out);

#endif
