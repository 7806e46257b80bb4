/* Open plan: all that the stages of a plan have made, kept while settings change.
 *
 * An update takes only the stages whose settings, files or inputs changed (see plan/stage.h), and
 * what it leaves to be seen is what a plan that is begun anew would have: the same bytes. A sketch
 * alone goes on from what was seen before it, where only the rules of single cells changed. One
 * thread updates at a time; meanwhile others may see the plan as the last update that went well
 * left it. */
#ifndef ROWLOCK_PLAN_OPEN_PLAN_H
#define ROWLOCK_PLAN_OPEN_PLAN_H

#include "base/voice.h"
#include "figures/mural.h"
#include "plan/brickwork.h"
#include "plan/brief.h"
#include "plan/cell_rules.h"
#include "plan/plan_figures.h"
#include "plan/plan_holds.h"
#include "plan/raise.h"
#include "plan/sampled_picture.h"
#include "plan/stage.h"
#include "plan/studio.h"

/* A plan as it is at one moment. Nothing in it changes. */
typedef struct PlanState {
    Job job;     /* with the thickness that was found where it was sought */
    Brief brief; /* of that job; nobody listens */
    ThicknessTrials thickness;
    const void *made[STAGES]; /* by each stage; NULL: it was not taken for this job */
} PlanState;

static inline const Studio *state_studio(const PlanState *s) { return s->made[STAGE_STUDIO]; }
static inline const Grid *state_own_cells(const PlanState *s) { return s->made[STAGE_CELLS]; }
static inline const HeldPicture *state_held(const PlanState *s) { return s->made[STAGE_READING]; }
static inline const SampledPicture *state_picture(const PlanState *s)
{
    return s->made[STAGE_PICTURE];
}
static inline const RegionCells *state_regions(const PlanState *s)
{
    return s->made[STAGE_REGIONS];
}
static inline const CellRules *state_rules(const PlanState *s) { return s->made[STAGE_RULES]; }
static inline const Image *state_fitted(const PlanState *s) { return s->made[STAGE_TONE]; }
static inline const Grid *state_sketch(const PlanState *s) { return s->made[STAGE_SKETCH]; }
static inline const Grid *state_face(const PlanState *s) { return s->made[STAGE_FACE]; }
static inline const Raised *state_raised(const PlanState *s) { return s->made[STAGE_RELIEF]; }
static inline const Brickwork *state_brickwork(const PlanState *s) { return s->made[STAGE_BRICKS]; }
static inline const Holds *state_holds(const PlanState *s) { return s->made[STAGE_HOLDS]; }
static inline const Parts *state_parts(const PlanState *s) { return s->made[STAGE_PARTS]; }
static inline const LookFigures *state_look(const PlanState *s) { return s->made[STAGE_LOOK]; }
static inline const PlanFigures *state_figures(const PlanState *s)
{
    return s->made[STAGE_FIGURES];
}

/* The face or, while it is not there, the sketch; NULL: neither. */
static inline const Grid *state_shown(const PlanState *s)
{
    return state_face(s) ? state_face(s) : state_sketch(s);
}

/* The whole, as the writers read it; STAGE_FIGURES has been taken. It borrows from the state. */
Mural state_mural(const PlanState *state);

/* The same for pictures of a face whose bricks are not laid yet, in relief where STAGE_RELIEF has
 * been taken: without panels, bricks and figures. *grid_out, which it borrows, borrows from both.
 */
Mural state_mural_unlaid(const PlanState *state, const Grid *face, Grid *grid_out);

typedef struct OpenPlan OpenPlan;

/* standing: what of the mural is built already, borrowed; NULL: nothing. The reference is held in
 * memory where its pixels take no more than hold_bytes. Fault: no memory; *plan_out is NULL then.
 */
Status open_plan_create(OpenPlan **plan_out, const BuiltPart *standing, size_t hold_bytes,
                        Fault *fault);
void open_plan_free(OpenPlan *plan); /* NULL allowed */

/* Takes the stages of the set, with all that they read, for this job. A thickness is sought where
 * the set has STAGE_FIGURES; until then it is that which was found last, at first 1. Notes of what
 * is kept are told again, so an update says what a new plan would say. After a fault,
 * STATUS_INTERRUPTED among them, the plan is to be seen as it was. */
Status open_plan_update(OpenPlan *plan, const Job *job, unsigned stages, const Voice *voice,
                        Fault *fault);

/* The plan as it is, to be handed back with open_plan_leave; NULL before the first update that
 * went well. Any thread. */
const PlanState *open_plan_see(OpenPlan *plan);
void open_plan_leave(OpenPlan *plan, const PlanState *state); /* NULL allowed */

#endif
