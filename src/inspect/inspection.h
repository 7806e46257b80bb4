/* Inspection: a photograph of a panel held to its plan. */
#ifndef ROWLOCK_INSPECT_INSPECTION_H
#define ROWLOCK_INSPECT_INSPECTION_H

#include "base/voice.h"
#include "inspect/find_pose.h"
#include "inspect/judge.h"

/* What is asked for; all is borrowed. */
typedef struct InspectionAsk {
    const char *folder, *photo; /* a plan's; a file, "-" is standard input */
    const char *panel;          /* its name */
    int to;                     /* the mural's row, from 1, up to which it is built; 0: the whole */
    const PlanePoint *corner; /* four, of what is built, in pixels of the upright photograph: upper
                                 left, upper right, lower right, lower left; NULL: to be found */
    const char *sheet; /* colour of the sheet behind, see panel_face_set_sheet; NULL: not told */
    const Job *job;    /* memory and out count; without out nothing is written */
    int threads;
} InspectionAsk;

/* A photograph that was taken for the panel's, and what is seen in it. */
typedef struct Inspection {
    const InspectionAsk *ask;
    EarlierPlan *plan;
    PanelFace face;
    Photo photo;
    Pose pose;
    double explained;
    FaceProof proof;
    CellLight *light;
    CellColours colours;
    Judgement judgement;
} Inspection;

/* Faults: no plan, no photograph, or one that does not show the panel (STATUS_DATA), with the
 * reason. inspection_clear also after a fault. */
Status inspection_look(Inspection *inspection_out, const InspectionAsk *ask, const Voice *voice,
                       Fault *fault);
void inspection_clear(Inspection *inspection);

#endif
