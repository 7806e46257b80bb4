/* Face colours: a colour a cell, matched, mixed or searched for, or the user's own. */
#ifndef ROWLOCK_PLAN_FACE_COLOURS_H
#define ROWLOCK_PLAN_FACE_COLOURS_H

#include "model/grid.h"
#include "model/image.h"
#include "plan/brief.h"
#include "plan/cell_rules.h"
#include "plan/studio.h"

/* What colours are chosen for, of what. All is borrowed. */
typedef struct ColourTask {
    const Brief *brief;
    const Studio *studio;
    const Image *target;    /* what the colours should look like */
    const CellRules *rules; /* NULL: nothing is asked of single cells */
} ColourTask;

/* own: the user's cells, which are not changed but where bricks stand; or empty. *face_out is flat.
 * Faults: cells of the user's that ask for what is not to be had; see cell_rules_check. grid_clear
 * also after a fault. */
Status face_colours_init(Grid *face_out, const ColourTask *task, const Grid *own, Fault *fault);

/* A first face that is soon there, to be looked at while the other is chosen; stock does not limit
 * it. before: the face of the same task but for its rules, which were before_rules; NULL: there is
 * none. Else as face_colours_init. */
typedef struct SketchTask {
    ColourTask colours;
    const Grid *before;
    const CellRules *before_rules;
} SketchTask;
Status face_colours_sketch(Grid *face_out, const SketchTask *task, const Grid *own, Fault *fault);

/* Chooses the colours of a face anew. limit: cells of each colour beside those that stand, if
 * the job uses the stock only. */
Status face_colours_choose(Grid *face, const ColourTask *task, const long limit[PALETTE_MOST],
                           Fault *fault);

/* Cells of each colour that are still to be built. */
void face_colours_count(const Grid *face, const Brief *brief, long count_out[PALETTE_MOST]);

#endif
