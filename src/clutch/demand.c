/* Idea. With the forces of three weights, one along each axis, those of any load of weight are
 * sums. "Any way" is exact, too: the share of a joint is the largest of four linear functions of
 * the direction, and a linear function is largest over the sphere along its own gradient.
 *
 * Softening. A joint whose share is small may take more: springs are made softer in proportion to a
 * power of their share of the worst, which moves the forces to where there is room. Each pass gives
 * forces that balance, so each is a proof; the best is kept, and a pass that is worse goes back and
 * treads more softly.
 *
 * Source. Reweighted least squares for the largest of residuals: C. L. Lawson, thesis, UCLA 1961
 * (from memory). */
#include "clutch/demand.h"

#include "base/memory.h"

#include <math.h>
#include <string.h>

/* As a prototype's trials on walls and reliefs set them. */
enum { SOFTEN_PASSES = 40 };
#define SOFTEN_POWER 0.5
#define SOFTEN_CALMER 0.6
#define SOFTEN_POWER_LEAST 0.01
#define SOFTEN_SHARE_LEAST 0.1
#define STIFFNESS_LEAST 0.001

Status weight_forces_init(WeightForces *forces_out, size_t joints, Fault *fault)
{
    *forces_out = (WeightForces){.joint = memory_create(joints, sizeof *forces_out->joint)};
    if (forces_out->joint) return STATUS_OK;
    return memory_fault(fault, joints, sizeof *forces_out->joint);
}

void weight_forces_clear(WeightForces *forces)
{
    memory_free(forces->joint);
    *forces = (WeightForces){0};
}

void weight_forces_find(WeightForces *forces, Springs *springs)
{
    springs_unload(springs);
    for (int axis = 0; axis < AXES; axis++) springs_weigh(springs, axis, axis);
    springs_solve(springs, true);
    forces->unbalanced_n = 0;
    for (int axis = 0; axis < AXES; axis++)
        forces->unbalanced_n = fmax(forces->unbalanced_n, springs_unbalanced(springs, axis));
    for (size_t i = 0; i < springs->joints; i++) {
        Lanes f[FORCES];
        springs_forces(springs, i, f);
        for (int axis = 0; axis < AXES; axis++)
            for (int k = 0; k < FORCES; k++) forces->joint[i][axis][k] = f[k][axis];
    }
}

/* ---- shares ---- */

/* The most over all directions of the pull, and of a bending on one side. */
static double steepest(const double f[AXES][FORCES], int turn, double by)
{
    double sum = 0;
    for (int axis = 0; axis < AXES; axis++) {
        const double slope = -f[axis][2] + by * f[axis][turn];
        sum += slope * slope;
    }
    return sqrt(sum);
}

static double any_way_use(const Joint *j, const double f[AXES][FORCES])
{
    double most = 0, twist = 0;
    for (int sign = -1; sign <= 1; sign += 2) {
        most = fmax(most, steepest(f, 3, sign * 2.0 / j->nb));
        most = fmax(most, steepest(f, 4, sign * 2.0 / j->na));
    }
    for (int axis = 0; axis < AXES; axis++) twist += f[axis][5] * f[axis][5];
    if (joint_is_single(j)) most = fmax(most, sqrt(twist) / KNOB_RADIUS);
    return most / j->pull_n;
}

double demand_joint_use(const Demand *d, const Joint *joint, const double force[AXES][FORCES])
{
    if (d->any_way > 0) return d->any_way * any_way_use(joint, force);
    double most = 0;
    for (int way = 0; way < d->ways; way++) {
        double f[FORCES] = {0};
        for (int axis = 0; axis < AXES; axis++)
            for (int k = 0; k < FORCES; k++) f[k] += d->way[way][axis] * force[axis][k];
        const JointForce on = joint_force(f);
        most = fmax(most, joint_use(joint, &on));
    }
    return most;
}

DemandUse demand_use(const Demand *demand, const Springs *s, const WeightForces *forces,
                     double *use_out)
{
    DemandUse most = {0, 0};
    for (size_t i = 0; i < s->joints; i++) {
        const double use = demand_joint_use(demand, &s->structure->joint[i],
                                            (const double(*)[FORCES])forces->joint[i]);
        if (use > most.use) most = (DemandUse){use, (uint32_t)i};
        if (use_out) use_out[i] = use;
    }
    return most;
}

/* ---- softening ---- */

typedef struct Softening {
    const Demand *demand;
    Springs *springs;
    WeightForces forces;
    double *factor, *best_factor, *use, *best_use; /* joints */
    DemandUse best;
} Softening;

static Status soften_pass(Softening *f, DemandUse *found, Fault *fault)
{
    const Status status = springs_set(f->springs, f->factor, fault);
    if (status) return status;
    weight_forces_find(&f->forces, f->springs);
    *found = demand_use(f->demand, f->springs, &f->forces, f->use);
    return STATUS_OK;
}

/* The next springs, from the best so far. */
static void soften_springs(Softening *f, double power)
{
    const size_t n = f->springs->joints;
    double stiffest = 0;
    for (size_t i = 0; i < n; i++) {
        const double share = fmin(fmax(f->best_use[i] / f->best.use, SOFTEN_SHARE_LEAST), 1);
        f->factor[i] = f->best_factor[i] * pow(share, -power);
        stiffest = fmax(stiffest, f->factor[i]);
    }
    for (size_t i = 0; i < n; i++) f->factor[i] = fmax(STIFFNESS_LEAST, f->factor[i] / stiffest);
}

static void keep_pass(Softening *f, const DemandUse *found)
{
    const size_t bytes = f->springs->joints * sizeof *f->use;
    f->best = *found;
    memcpy(f->best_factor, f->factor, bytes);
    memcpy(f->best_use, f->use, bytes);
}

static Status soften(Softening *f, double enough, Fault *fault)
{
    double power = SOFTEN_POWER;
    DemandUse found;
    for (size_t i = 0; i < f->springs->joints; i++) f->factor[i] = 1;
    Status status = soften_pass(f, &found, fault);
    if (!status) keep_pass(f, &found);
    for (int pass = 0; pass < SOFTEN_PASSES && !status; pass++) {
        if (f->best.use <= enough || power < SOFTEN_POWER_LEAST) break;
        soften_springs(f, power);
        status = soften_pass(f, &found, fault);
        if (!status && found.use < f->best.use)
            keep_pass(f, &found);
        else
            power *= SOFTEN_CALMER;
    }
    return status;
}

Status demand_soften(const Demand *demand, Springs *springs, double enough, DemandUse *best_out,
                     double *use_out, Fault *fault)
{
    const size_t n = springs->joints;
    Softening f = {.demand = demand,
                   .springs = springs,
                   .factor = memory_create(n, sizeof *f.factor),
                   .best_factor = memory_create(n, sizeof *f.best_factor),
                   .use = memory_create(n, sizeof *f.use),
                   .best_use = memory_create(n, sizeof *f.best_use)};
    Status status = weight_forces_init(&f.forces, n, fault);
    if (!status && (!f.factor || !f.best_factor || !f.use || !f.best_use))
        status = memory_fault(fault, n, sizeof *f.use);
    if (!status) status = soften(&f, enough, fault);
    if (!status) *best_out = f.best;
    if (!status && use_out) memcpy(use_out, f.best_use, n * sizeof *use_out);
    weight_forces_clear(&f.forces);
    memory_free(f.factor);
    memory_free(f.best_factor);
    memory_free(f.use);
    memory_free(f.best_use);
    return status;
}
