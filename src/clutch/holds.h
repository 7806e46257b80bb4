/* Holds: what every panel's joints take in each load case, and what its raised bricks hold against
 * a touch. */
#ifndef ROWLOCK_CLUTCH_HOLDS_H
#define ROWLOCK_CLUTCH_HOLDS_H

#include "base/voice.h"
#include "clutch/load_case.h"
#include "clutch/structure.h"
#include "model/grid.h"
#include "model/laid.h"
#include "model/panel.h"
#include "model/sizes.h"

#define HOLD_NOTHING SIZE_MAX /* in the place of a brick: the ground, or none */

/* A touch below this is a duster's; our choice. */
#define FEEBLE_N 0.5
/* Nothing tells apart what holds more; our choice. */
#define FIRM_N 10.0

/* What is to be looked at. Borrowed. */
typedef struct HoldTask {
    const Solid *solid;
    const Panels *panels;
    const Laid *laid;
    const Sizes *sizes;
    JointModel model;
    unsigned cases; /* that are asked for, a bit each; they alone are looked at closely */
    double safety;  /* a share of more than one over this is to be told */
    double crate_g;
    double touch_n; /* a hold of less is to be told; 0: touches are not looked at */
    int threads;    /* never changes the result */
} HoldTask;

/* The joint that gives first. */
typedef struct WeakJoint {
    size_t brick; /* the upper one, an index into Laid; HOLD_NOTHING: there is no joint */
    size_t below; /* the lower one; HOLD_NOTHING: the sheet, or the footing */
    int knobs;
    size_t away; /* of a touch: bricks that hang on it alone */
} WeakJoint;

typedef enum HoldProof {
    PROOF_NONE,     /* the case is none of this build's, or nothing bears the panel in it */
    PROOF_SPRINGS,  /* the use is at most so much */
    PROOF_SOFTENED, /* the same, sought for */
    PROOF_EXACT     /* it is so much; a crate: along the worst of its axes no less */
} HoldProof;

typedef struct CaseHold {
    HoldProof proof;
    double use;    /* share of what the joints hold when new */
    bool fails;    /* it is proven that the panel comes apart: a use above 1 alone is a bound */
    size_t moving; /* bricks that come away where it gives first; 0: not known */
    WeakJoint weakest;
} CaseHold;

typedef struct PanelHolds {
    CaseHold at[LOAD_CASES];
    size_t loose;          /* bricks that nothing holds */
    size_t touched;        /* raised bricks that can be touched */
    size_t feeble, slight; /* of them, such as hold less than FEEBLE_N, and than touch_n */
    double least_hold_n;   /* INFINITY where none is touched */
    size_t least_brick;    /* that holds so little; HOLD_NOTHING */
    WeakJoint least_joint;
} PanelHolds;

typedef struct Holds {
    unsigned cases; /* that were asked for */
    PanelHolds *panel;
    float *touch_n; /* one for each brick: its hold; NAN where none is asked for. Of one beyond
                       FIRM_N, the task's touch and the panel's least it is at least so much */
} Holds;

/* Faults: no memory; the voice stopped; as of apart_run. holds_clear also after a fault. */
Status holds_init(Holds *holds_out, const HoldTask *task, const Voice *voice, Fault *fault);
void holds_clear(Holds *holds);

/* The largest use of the cases asked for, over all panels, and where. */
typedef struct WorstHold {
    double use;
    int panel;
    LoadCase load_case;
} WorstHold;
WorstHold holds_worst(const Holds *holds, int panels);

/* The panel of the least touch, the first of several. */
int holds_least(const Holds *holds, int panels);

/* Panels that are proven to come apart in a case asked for. */
int holds_failing(const Holds *holds, int panels);

#endif
