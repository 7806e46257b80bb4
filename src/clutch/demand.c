/* Idea. With the forces of three weights, one along each axis, those of any load of weight are
 * sums. "Any way" is exact, too: the share of a joint is the largest of four linear functions of
 * the direction, and a linear function is largest over the sphere along its own gradient.
 *
 * Softening. A joint whose share is small may take more: springs are made softer in proportion to a
 * power of their share of the worst, which moves the forces to where there is room. The forces of
 * each pass balance, and so does every mixture of them with those before: the mixture that asks
 * least of the worst joint is gone on from, so that no pass is lost, and what has been found is
 * always a proof. The share of a mixture is convex, so that thirds find its least.
 *
 * Source. Reweighted least squares for the largest of residuals: C. L. Lawson, thesis, UCLA 1961;
 * mixtures with a search along the line: M. Frank, P. Wolfe, Naval Research Logistics Quarterly 3
 * (1956); both from memory. */
#include "clutch/demand.h"

#include "base/memory.h"

#include <math.h>
#include <string.h>

/* As trials on walls and reliefs set them. */
enum { SOFTEN_PASSES = 40, SOFTEN_THIRDS = 6, SOFTEN_IDLE = 2 };
#define SOFTEN_POWER 0.5
#define SOFTEN_SHARE_LEAST 0.1
#define SOFTEN_GAIN 0.01 /* a pass that gains less is idle; after so many in a row it ends */
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
    for (int axis = 0; axis < AXES; axis++) springs_weigh(springs, axis, axis, 1);
    springs_solve(springs, true);
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
    WeightForces best, other; /* so far, and of the last pass */
    double *factor, *use;     /* joints: of the springs, and shares under the best forces */
    DemandUse found;          /* of the best forces */
} Softening;

static Status soften_pass(Softening *f, WeightForces *forces, Fault *fault)
{
    const Status status = springs_set(f->springs, f->factor, fault);
    if (!status) weight_forces_find(forces, f->springs);
    return status;
}

/* The next springs, by the shares so far. */
static void soften_springs(Softening *f)
{
    const size_t n = f->springs->joints;
    double stiffest = 0;
    for (size_t i = 0; i < n; i++) {
        const double share = fmin(fmax(f->use[i] / f->found.use, SOFTEN_SHARE_LEAST), 1);
        f->factor[i] *= pow(share, -SOFTEN_POWER);
        stiffest = fmax(stiffest, f->factor[i]);
    }
    for (size_t i = 0; i < n; i++) f->factor[i] = fmax(STIFFNESS_LEAST, f->factor[i] / stiffest);
}

static void mix_joint(const Softening *f, size_t joint, double part, double out[AXES][FORCES])
{
    for (int axis = 0; axis < AXES; axis++)
        for (int k = 0; k < FORCES; k++)
            out[axis][k] =
                (1 - part) * f->best.joint[joint][axis][k] + part * f->other.joint[joint][axis][k];
}

/* The largest share once so much of the last pass is mixed in. */
static double mixed_use(const Softening *f, double part)
{
    double most = 0, force[AXES][FORCES];
    for (size_t i = 0; i < f->springs->joints; i++) {
        mix_joint(f, i, part, force);
        most = fmax(most, demand_joint_use(f->demand, &f->springs->structure->joint[i],
                                           (const double(*)[FORCES])force));
    }
    return most;
}

static double best_part(const Softening *f)
{
    double low = 0, high = 1;
    for (int i = 0; i < SOFTEN_THIRDS; i++) {
        const double third = (high - low) / 3;
        if (mixed_use(f, low + third) <= mixed_use(f, high - third))
            high -= third;
        else
            low += third;
    }
    return high == 1 ? 1 : low == 0 ? low : 0.5 * (low + high);
}

/* Mixes the last pass in; false where this gains next to nothing. */
static bool mix_pass(Softening *f)
{
    const double part = best_part(f), before = f->found.use;
    if (!(mixed_use(f, part) < before)) return false;
    for (size_t i = 0; i < f->springs->joints; i++) mix_joint(f, i, part, f->best.joint[i]);
    f->found = demand_use(f->demand, f->springs, &f->best, f->use);
    return f->found.use < (1 - SOFTEN_GAIN) * before;
}

static Status soften(Softening *f, double enough, Fault *fault)
{
    for (size_t i = 0; i < f->springs->joints; i++) f->factor[i] = 1;
    Status status = soften_pass(f, &f->best, fault);
    if (!status) f->found = demand_use(f->demand, f->springs, &f->best, f->use);
    int idle = 0;
    for (int pass = 0; pass < SOFTEN_PASSES && idle < SOFTEN_IDLE && !status; pass++) {
        if (f->found.use <= enough) break;
        soften_springs(f);
        status = soften_pass(f, &f->other, fault);
        if (!status) idle = mix_pass(f) ? 0 : idle + 1;
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
                   .use = memory_create(n, sizeof *f.use)};
    Status status = weight_forces_init(&f.best, n, fault);
    if (!status) status = weight_forces_init(&f.other, n, fault);
    if (!status && (!f.factor || !f.use)) status = memory_fault(fault, n, sizeof *f.use);
    if (!status) status = soften(&f, enough, fault);
    if (!status) *best_out = f.found;
    if (!status && use_out) memcpy(use_out, f.use, n * sizeof *use_out);
    weight_forces_clear(&f.best);
    weight_forces_clear(&f.other);
    memory_free(f.factor);
    memory_free(f.use);
    return status;
}
