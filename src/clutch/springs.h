/* Springs: forces that balance a load, found by taking each joint for a spring. Whatever the
 * springs, forces that balance prove what the joints take at most (the safe theorem of plastic
 * design). */
#ifndef ROWLOCK_CLUTCH_SPRINGS_H
#define ROWLOCK_CLUTCH_SPRINGS_H

#include "base/simd8.h"
#include "clutch/block_cholesky.h"
#include "clutch/structure.h"

/* Forces on a joint as the solve has them: along a, b and u on the upper brick, and moments about
 * these over the pitch. */
enum { FORCES = BLOCK };

typedef struct Springs {
    const Structure *structure;
    const Bearing *bearing;
    size_t joints;  /* that hold under the bearing; 0 before springs_bear */
    uint8_t *loose; /* bricks: 1 where nothing leads to what bears the panel */
    size_t loose_bricks;
    BlockPair *pair; /* inner joints */
    double *diagonal, *off;
    double *stiffness;      /* joints x 6: of the springs as they are now */
    double (*arm)[2][AXES]; /* joints: from the middles of the upper and the lower brick, over the
                               pitch */
    BlockCholesky factor;
    Lanes *load, *moved, *left; /* bricks x 6: the loads, what moves, what is left unbalanced */
    int lanes;                  /* of the loads: the first so many are in use */
    const Voice *voice;         /* who may stop what takes long */
} Springs;

/* Borrows the structure and the voice; NULL: nobody stops it. springs_clear also after a fault: no
 * memory, or stopped. */
Status springs_init(Springs *springs_out, const Structure *structure, const Voice *voice,
                    Fault *fault);
void springs_clear(Springs *springs);

/* From now on the structure is held so; borrowed. The springs are then to be set. */
void springs_bear(Springs *springs, const Bearing *bearing);

/* Makes each joint as stiff as it can hold much, times its factor; NULL: 1. Stopped:
 * STATUS_INTERRUPTED. */
Status springs_set(Springs *springs, const double *factor, Fault *fault);

/* Empties the loads. */
void springs_unload(Springs *springs);

/* So many times the weight of every brick, along an axis, in one lane. */
void springs_weigh(Springs *springs, int lane, int axis, double times);

/* Balances the loads; refined: twice, the second time what is left of them. */
void springs_solve(Springs *springs, bool refined);

/* The nearest forces that balance the loads, in the springs' measure: each over what its spring is
 * stiff, squared. force: joints x 6, support: supports x 3, both in and out; left_out: what they
 * leave unbalanced, the most on any brick, N. */
void springs_balance(Springs *springs, Lanes *force, Lanes *support, Lanes *left_out);

/* Pushes on few bricks, near which alone is asked what moves. Begins anew; a push; and once all are
 * in, of each lane the sum over all joints of their springs' shares squared, six of each: that much
 * at least. */
void springs_poke_begin(Springs *springs);
void springs_poke(Springs *springs, int lane, uint32_t brick, const double at[AXES], int axis,
                  double newtons);
void springs_poke_spread(Springs *springs, Lanes *energy_out);

/* What moves of one brick under these pushes, from then on in `moved`. */
void springs_poke_reach(Springs *springs, uint32_t brick);

/* The velocity at an arm's end, of a brick's six. */
INLINED void velocity_at(const Lanes *v, const double arm[AXES], Lanes out[BLOCK])
{
    out[0] = v[0] + (v[4] * arm[2] - v[5] * arm[1]);
    out[1] = v[1] + (v[5] * arm[0] - v[3] * arm[2]);
    out[2] = v[2] + (v[3] * arm[1] - v[4] * arm[0]);
    for (int i = AXES; i < BLOCK; i++) out[i] = v[i];
}

/* How far what was solved moves a joint's sides apart, in every lane. */
INLINED void springs_parting(const Springs *s, size_t joint, Lanes parting_out[FORCES])
{
    const Joint *j = &s->structure->joint[joint];
    Lanes below[BLOCK];
    velocity_at(s->moved + (size_t)j->upper * BLOCK, s->arm[joint][0], parting_out);
    if (j->lower == GROUND) return;
    velocity_at(s->moved + (size_t)j->lower * BLOCK, s->arm[joint][1], below);
    for (int i = 0; i < FORCES; i++) parting_out[i] -= below[i];
}

/* What was solved, on one joint, in every lane. */
INLINED void springs_forces(const Springs *s, size_t joint, Lanes force_out[FORCES])
{
    const double *w = s->stiffness + joint * FORCES;
    springs_parting(s, joint, force_out);
    for (int i = 0; i < FORCES; i++) force_out[i] *= w[i];
}

/* joint_use in every lane, of forces and of what of them pulls; below 0 where the joint is pressed
 * by more than it is bent. */
INLINED void springs_use(const Joint *j, const Lanes f[FORCES], const Lanes *pull, Lanes *use_out)
{
    const double by = 1 / j->pull_n;
    const Lanes one = lanes_size(f[3]) * (2.0 / j->nb), other = lanes_size(f[4]) * (2.0 / j->na);
    *use_out = (lanes_either(one > other, one, other) + *pull) * by;
    if (!joint_is_single(j)) return;
    const Lanes twist = lanes_size(f[5]) * (by / KNOB_RADIUS);
    *use_out = lanes_either(twist > *use_out, twist, *use_out);
}

/* Forces count as a proof where they leave no more than this unbalanced on any brick, N: of what a
 * knob holds less than a millionth. */
#define UNBALANCED_MOST 1e-6

/* What the forces leave unbalanced, the most on any brick and in any lane, N. */
double springs_unbalanced(const Springs *springs);

/* As a use is reckoned from. */
static inline JointForce joint_force(const double f[FORCES])
{
    return (JointForce){f[0], f[1], -f[2], f[3], f[4], f[5]};
}

#endif
