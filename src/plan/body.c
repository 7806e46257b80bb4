/* The body begins as a copy of what was asked for, so that this can be told from what is laid
 * in the end, and laid again. */
#include "plan/body.h"

#include "hold/relief_support.h"
#include "plan/cut_panels.h"

#include <string.h>

Status body_init(Body *body_out, const Brief *brief, const Sizes *sizes, const Grid *face,
                 const uint8_t *steps, Fault *fault)
{
    *body_out = (Body){0};
    Grid *grid = &body_out->grid;
    const Status status = grid_init(grid, face->columns, face->rows, steps, fault);
    if (status) return status;
    memcpy(grid->colour, face->colour, grid_cells(face));
    if (steps) memcpy(grid->steps, steps, grid_cells(face));
    body_out->solid = brief_solid(brief, grid);
    return cut_panels(&body_out->panels, brief, &body_out->solid, sizes, fault);
}

void body_clear(Body *body)
{
    hollow_clear(&body->hollow, &body->solid);
    panels_clear(&body->panels);
    grid_clear(&body->grid);
}

Status body_support(Body *body, const Brief *brief, const Sizes *sizes, Fault *fault)
{
    const Relief relief = {.grid = &body->grid,
                           .build = body->solid.build,
                           .base = body->solid.base,
                           .panels = &body->panels,
                           .sizes = sizes};
    StepChanges lowered;
    if (!body->grid.steps || brief->standing) return STATUS_OK;
    const Status status = relief_support_steps(&relief, &lowered, brief->voice, fault);
    step_changes_clear(&lowered);
    return status;
}
