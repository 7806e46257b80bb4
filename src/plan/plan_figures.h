/* Plan figures: how a mural looks, what it weighs, costs and asks of who builds it. */
#ifndef ROWLOCK_PLAN_PLAN_FIGURES_H
#define ROWLOCK_PLAN_PLAN_FIGURES_H

#include "base/voice.h"
#include "figures/cautions.h"
#include "figures/mural.h"

/* How it looks: of the measures those that are differences of colour, all others 0. */
typedef struct LookFigures {
    Measures measures;
    MissingColour missing;
} LookFigures;

/* mural: its image, palette, grid and where it is seen from are enough. fitted: its image within
 * what the palette can show. Faults: no memory; stopped. */
Status look_figures_init(LookFigures *look_out, const Mural *mural, const Image *fitted,
                         const Voice *voice, Fault *fault);

typedef struct PlanFigures {
    Measures measures;
    PanelLoad *load; /* one for each panel */
    Cautions cautions;
    MissingColour missing;
    ReliefLosses losses;
} PlanFigures;

/* mural: all of it but the figures. plan_figures_clear also after a fault. */
Status plan_figures_init(PlanFigures *figures_out, const Mural *mural, const LookFigures *look,
                         Fault *fault);
void plan_figures_clear(PlanFigures *figures);

/* Gives the mural its figures; it borrows from them. */
void plan_figures_tell(const PlanFigures *figures, Mural *mural);

/* True if every panel is one piece, every brick rests on something, and no joint is asked for more
 * than it holds. */
bool plan_figures_hold(const PlanFigures *figures, const Panels *panels);

#endif
