/* Panels of a mural under way hang already, so they are cut as they were or not at all. */
#include "plan/cut_panels.h"

#include "model/lift.h"

#include <math.h>
#include <string.h>

static bool same_panels(const Panels *a, const Panels *b)
{
    bool same = a->count == b->count;
    for (int i = 0; same && i < a->count; i++) {
        const Panel *p = &a->panel[i], *q = &b->panel[i];
        same = p->column == q->column && p->row == q->row && p->columns == q->columns &&
               p->rows == q->rows && !strcmp(p->name, q->name);
    }
    return same;
}

/* What passes the door in its crate, which has packing and a hand on both sides. */
static int cells_through_door(const Job *job, double cell_mm)
{
    return (int)fmax(1, floor((job->door - 2 * (HAND_MM + job->packing)) / cell_mm));
}

Status panel_limits(PanelLimits *limits_out, const Brief *brief, Fault *fault)
{
    const Job *job = brief->job;
    int columns = 0, rows = 0, card_columns = 0, card_rows = 0;
    Status status = job_panel(job, &columns, &rows, fault);
    if (!status) status = job_kit(job, &card_columns, &card_rows, fault); /* cards are panels */
    if (status) return status;
    PanelLimits limits = {.columns = card_columns ? card_columns : columns,
                          .rows = card_rows ? card_rows : rows,
                          .mass_kg = job->panel_mass,
                          .mounting = job_mounting(job),
                          .cell_width_mm = brief_cell_width(brief),
                          .cell_height_mm = brief_cell_height(brief)};
    if (!limits.columns && job->door <= 2 * (HAND_MM + job->packing))
        return fault_set(fault, STATUS_USAGE,
                         "--door: no crate with %g mm of packing passes %g mm; give --panel",
                         job->packing, job->door);
    if (!limits.columns) {
        limits.columns = cells_through_door(job, limits.cell_width_mm);
        limits.rows = cells_through_door(job, limits.cell_height_mm);
    }
    *limits_out = limits;
    return STATUS_OK;
}

Status cut_panels(Panels *panels_out, const Brief *brief, const Solid *solid, const Sizes *sizes,
                  Fault *fault)
{
    const EarlierPlan *earlier = brief_earlier(brief);
    PanelLimits limits;
    *panels_out = (Panels){0};
    Status status = panel_limits(&limits, brief, fault);
    if (status) return status;
    if (earlier && *brief->job->kit && brief->job->kit_even) /* cut by a laying that is no more */
        return panels_copy(panels_out, &earlier->panels, fault);
    status = panels_init(panels_out, solid, sizes, &limits, fault);
    if (status || !earlier || same_panels(panels_out, &earlier->panels)) return status;
    return fault_set(fault, STATUS_DATA,
                     "%s: with this brick set the panels would not be those that stand; plan with "
                     "the set that it was planned with",
                     earlier->folder);
}
