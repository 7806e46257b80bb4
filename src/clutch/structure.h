/* Structure: a panel as rigid bricks and the joints between them, with what each joint can hold.
 *
 * Axes: u is the way that the knobs point, a and b lie in a layer. In a plaque a is the column, b
 * the row and u the tier; in a wall a is the column, b the tier and u the row. Places are units
 * from the panel's lower left corner and its back, lengths mm, forces N. */
#ifndef ROWLOCK_CLUTCH_STRUCTURE_H
#define ROWLOCK_CLUTCH_STRUCTURE_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { AXIS_A, AXIS_B, AXIS_U, AXES };

/* The lower side of a joint with what a panel stands on. */
#define GROUND UINT32_MAX

#define GRAVITY_N_G (9.81e-3) /* the weight of a gram */

/* What a knob holds along its axis, N: by the hollow that it sits in. */
typedef struct KnobHold {
    double narrow; /* under a brick one unit wide */
    double wide;   /* under a wider one */
} KnobHold;

/* What joints are worked out from. */
typedef struct JointModel {
    double pitch_mm, layer_mm;
    KnobHold knob;
} JointModel;

typedef struct RigidBrick {
    int a, b, u;   /* its lowest unit */
    int na, nb;    /* its extent; one layer high */
    double mass_g; /* acts at the middle of the box */
} RigidBrick;

/* Two bricks that overlap do so in one whole rectangle of knobs. */
typedef struct Joint {
    uint32_t lower, upper; /* bricks; lower may be GROUND */
    int na, nb;            /* knobs along a and b */
    double at[AXES];       /* the rectangle's middle, mm */
    double pull_n;         /* that all its knobs hold together */
} Joint;

/* A single knob can be twisted round. */
static inline bool joint_is_single(const Joint *j) { return j->na * j->nb == 1; }

/* A point at which a brick is held, both ways, along some of the axes. */
typedef struct Support {
    uint32_t brick;
    double at[AXES]; /* mm */
    bool held[AXES];
} Support;

typedef struct Structure {
    JointModel model;
    size_t bricks;
    RigidBrick *brick; /* by layer, from the lowest */
    size_t joints;     /* all of them: first between bricks, then with the ground */
    size_t inner;      /* those between bricks */
    Joint *joint;
    size_t joint_capacity;
} Structure;

/* How it is borne. */
typedef struct Bearing {
    bool footing; /* the joints with the ground hold */
    size_t supports, capacity;
    Support *support;
} Bearing;

/* Takes over `brick`, memory of `bricks` items in the order of their layers, none overlapping,
 * a and b of each at least 0. The bricks of layer 0 are joined to the ground. Fault: no memory;
 * `brick` is the structure's in any case. */
Status structure_init(Structure *structure_out, const JointModel *model, RigidBrick *brick,
                      size_t bricks, Fault *fault);
void structure_clear(Structure *structure);

/* The middle of a brick, mm; and where a point (mm) is from there, over the pitch. */
void structure_middle(const Structure *structure, uint32_t brick, double middle_out[AXES]);
void structure_arm(const Structure *structure, uint32_t brick, const double at[AXES],
                   double arm_out[AXES]);

/* The fault of forces that were stopped from outside. */
Status structure_stopped(Fault *fault);

/* Joints that hold under this bearing. */
static inline size_t structure_joints(const Structure *s, const Bearing *bearing)
{
    return bearing->footing ? s->joints : s->inner;
}

Status bearing_add(Bearing *bearing, const Support *support, Fault *fault);
void bearing_clear(Bearing *bearing);

/* Forces of a joint on its upper brick, at the joint's middle. */
typedef struct JointForce {
    double shear_a, shear_b;
    double pull;                   /* above 0 it holds the upper brick down */
    double turn_a, turn_b, turn_u; /* moments over the pitch, N */
} JointForce;

/* The share that forces take of what a joint holds: at 1 it comes apart. A joint is prestressed:
 * each knob may as well pull all it can, and faces press back anywhere within the rectangle. So
 * what is left of the pull must reach as far out as the stronger of the two bendings asks; they do
 * not add, which P. Funes measured (thesis, Brandeis 2001, chapter 2). A single knob also slips
 * round where it is twisted. */
double joint_use(const Joint *joint, const JointForce *force);

/* A knob's radius over the pitch: 2.4 mm of 8 mm; common practice, no source. */
#define KNOB_RADIUS 0.3

#endif
