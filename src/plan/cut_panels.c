/* Panels of a mural under way hang already, so they are cut as they were or not at all. */
#include "plan/cut_panels.h"

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

static Status panel_limits(PanelLimits *limits_out, bool *cards_out, const Job *job, Fault *fault)
{
    int columns = 0, rows = 0; /* of a kit's cards, which are panels */
    *limits_out = (PanelLimits){.mass_kg = job->panel_mass};
    Status status = job_panel(job, &limits_out->columns, &limits_out->rows, fault);
    if (!status) status = job_kit(job, &columns, &rows, fault);
    if (columns) limits_out->columns = columns;
    if (rows) limits_out->rows = rows;
    *cards_out = columns;
    return status;
}

Status cut_panels(Panels *panels_out, const Brief *brief, const Solid *solid, const Sizes *sizes,
                  Fault *fault)
{
    const EarlierPlan *earlier = brief_earlier(brief);
    PanelLimits limits;
    bool cards;
    *panels_out = (Panels){0};
    Status status = panel_limits(&limits, &cards, brief->job, fault);
    if (status) return status;
    if (earlier && cards && brief->job->kit_even) /* cut by a laying that is no more */
        return panels_copy(panels_out, &earlier->panels, fault);
    status = panels_init(panels_out, solid, sizes, &limits, fault);
    if (status || !earlier || same_panels(panels_out, &earlier->panels)) return status;
    return fault_set(fault, STATUS_DATA,
                     "%s: with this brick set the panels would not be those that stand; plan with "
                     "the set that it was planned with",
                     earlier->folder);
}
