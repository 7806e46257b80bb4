/* Brief: what every stage of a plan is told and none changes.
 *
 * A stage takes the brief, what other stages made, and gives what it is named after. Nothing
 * that it is given changes, so what was made once may be kept, and only the stages after a
 * setting that changed be taken again. */
#ifndef ROWLOCK_PLAN_BRIEF_H
#define ROWLOCK_PLAN_BRIEF_H

#include "base/voice.h"
#include "eye/eye.h"
#include "model/grid.h"
#include "model/job.h"
#include "plan/built_part.h"

/* All is borrowed. */
typedef struct Brief {
    const Job *job;
    const BuiltPart *standing; /* what of the mural is built already; NULL: nothing */
    int threads;               /* never changes the result */
    const Voice *voice;        /* NULL: nobody listens */
} Brief;

/* With as many threads as the job asks for. */
Brief brief_of(const Job *job, const BuiltPart *standing, const Voice *voice);

/* The plan that the mural is built from so far, or NULL. */
const EarlierPlan *brief_earlier(const Brief *brief);

/* True where this cell is built already. */
bool brief_stands(const Brief *brief, size_t cell);

/* A cell of the face, and a step of its relief; mm. */
double brief_cell_width(const Brief *brief);
double brief_cell_height(const Brief *brief);
double brief_step(const Brief *brief);

/* The eye at the job's distance. */
Viewpoint brief_viewpoint(const Brief *brief);

/* What bricks fill where the cells have these steps, with no hollow core yet. */
Solid brief_solid(const Brief *brief, const Grid *grid);

/* The fault of a plan that was stopped from outside. */
Status brief_interrupted(Fault *fault);

#endif
