/* Cut panels: the panels, or a kit's cards, that the job asks for. */
#ifndef ROWLOCK_PLAN_CUT_PANELS_H
#define ROWLOCK_PLAN_CUT_PANELS_H

#include "model/panel.h"
#include "plan/brief.h"

/* What the job says that a panel may be. Faults: sizes of panels or cards that are none, a door
 * that no crate passes. */
Status panel_limits(PanelLimits *limits_out, const Brief *brief, Fault *fault);

/* The solid's grid and base tell what a panel may weigh. Fault: where bricks stand, panels
 * that are not those of their plan. panels_clear also after a fault. */
Status cut_panels(Panels *panels_out, const Brief *brief, const Solid *solid, const Sizes *sizes,
                  Fault *fault);

#endif
