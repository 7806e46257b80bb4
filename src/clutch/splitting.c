/* Idea. Two things are asked of forces: that they balance, and that each joint holds its own. The
 * nearest forces that balance are one solve with the springs' factor; the nearest that a joint
 * holds at a given share are a formula. Each alone is easy, and reflections at one and the other in
 * turn come to forces that are both, wherever there are any at that share. All that balance on the
 * way are proofs, of which the best is kept.
 *
 * A joint holds what it is pressed with whatever it is, and bends the more for it, which no
 * springs know: so walls that stand or are lifted are proven here and not by softening.
 *
 * Nearness is that of the springs: forces over capacities, squared. Ways that a weight acts, and
 * shares that are tried, are solved side by side, one in each lane.
 *
 * Invariants. Shears, and twists on several knobs, are free and follow what balances.
 *
 * Source. J. Douglas, H. H. Rachford, Trans. AMS 82 (1956); P.-L. Lions, B. Mercier, SIAM J. Numer.
 * Anal. 16 (1979); from memory. */
#include "clutch/splitting.h"

#include "base/memory.h"
#include "base/simd8.h"

#include <math.h>
#include <string.h>

/* By trial on coffee.png and astronaut.png as walls one thick, 48 and 120 columns, 8 steps: of
 * eight panels for which softening said more than 1, six are proven to hold after 3 to 44 passes,
 * and gain more in up to 200. In the other two a solve leaves up to 0.02 N, which counts as no
 * proof; solved once more for what is left, they were not proven either. */
enum { PASSES = 240, PASSES_IDLE = 40, TARGETS = 4, WAYS_MOST = 2 * AXES };
#define GAIN 0.01 /* less than that in so many passes is idle */
static const double target_shares[TARGETS] = {1.0 / 3, 0.5, 0.7, 0.9};
/* Of any way, whose axes come to its root of three together: to less than 1. */
static const double any_way_share = 0.5;

typedef struct Splitting {
    Springs *springs;
    int lanes, ways;
    int way[LANES];        /* which way is tried in a lane */
    Lanes target;          /* shares that are tried */
    Lanes *force;          /* joints x 6: reflected, then nearest that balance */
    Lanes *next;           /* joints x 6 */
    Lanes *support;        /* supports x 3 */
    double use[WAYS_MOST]; /* ways: the least yet */
    uint32_t joint[WAYS_MOST];
} Splitting;

INLINED void clip(const Lanes *x, const Lanes *most, Lanes *out)
{
    const Lanes size = lanes_size(*x), less = lanes_either(size > *most, *most, size);
    *out = lanes_either(*x < 0, -less, less);
}

/* Of pull and two bendings, as shares, the nearest with pull and the larger bending at most t. */
INLINED void hold_joint(const Lanes *t, Lanes *pull, Lanes *one, Lanes *other)
{
    const Lanes nothing = {0}, a = lanes_size(*one), b = lanes_size(*other);
    const Lanes most = lanes_either(a > b, a, b), least = lanes_either(a > b, b, a);
    const Lanes room = *t - *pull;
    const Lanes half = 0.5 * (room + most), third = (room + a + b) * (1.0 / 3);
    Lanes bend = lanes_either(half >= least, half, third);
    bend = lanes_either(bend > 0, bend, nothing);
    const LaneMasks over = most > room;
    const Lanes in_reach = lanes_either(over, bend, most);
    *pull = lanes_either(over, *t - bend, *pull);
    clip(one, &in_reach, one);
    clip(other, &in_reach, other);
}

/* Reflects at what joints hold, and takes the mean with what was there. */
WIDEST static void reflect(const Splitting *p)
{
    const Springs *s = p->springs;
    for (size_t i = 0; i < s->joints; i++) {
        const Joint *j = &s->structure->joint[i];
        const Lanes *x = p->force + i * FORCES;
        Lanes *z = p->next + i * FORCES;
        const double hold[3] = {j->pull_n, 0.5 * j->nb * j->pull_n, 0.5 * j->na * j->pull_n};
        Lanes y[3];
        /* Pull holds the upper brick down: against u. */
        for (int k = 0; k < 3; k++) y[k] = (2 * x[2 + k] - z[2 + k]) / (k ? hold[k] : -hold[k]);
        hold_joint(&p->target, &y[0], &y[1], &y[2]);
        for (int k = 0; k < 3; k++) z[2 + k] += y[k] * (k ? hold[k] : -hold[k]) - x[2 + k];
        z[0] = x[0];
        z[1] = x[1];
        if (joint_is_single(j)) {
            const Lanes most = p->target * (KNOB_RADIUS * j->pull_n), twist = 2 * x[5] - z[5];
            Lanes held;
            clip(&twist, &most, &held);
            z[5] += held - x[5];
        } else
            z[5] = x[5];
    }
    memcpy(p->force, p->next, s->joints * FORCES * sizeof *p->force);
}

/* The largest share in each lane, and where. */
WIDEST static void find_uses(const Splitting *p, Lanes *use, Lanes *where)
{
    const Springs *s = p->springs;
    *use = *where = (Lanes){0};
    for (size_t i = 0; i < s->joints; i++) {
        const Lanes *f = p->force + i * FORCES, joint = (Lanes){0} + (double)i, pull = -f[2];
        Lanes share;
        springs_use(&s->structure->joint[i], f, &pull, &share);
        const LaneMasks more = share > *use;
        *use = lanes_either(more, share, *use);
        *where = lanes_either(more, joint, *where);
    }
}

static void keep_best(Splitting *p, const Lanes *left)
{
    Lanes use, where;
    find_uses(p, &use, &where);
    for (int i = 0; i < p->lanes; i++) {
        if (!((*left)[i] <= UNBALANCED_MOST) || !(use[i] < p->use[p->way[i]])) continue;
        p->use[p->way[i]] = use[i];
        p->joint[p->way[i]] = (uint32_t)where[i];
    }
}

/* What has been found for all ways together. */
static DemandUse found_for(const Splitting *p, const Demand *d)
{
    DemandUse found = {0, GROUND};
    double most = 0, squares = 0;
    for (int axis = 0; axis < AXES && d->any_way > 0; axis++) {
        const double use = fmax(p->use[2 * axis], p->use[2 * axis + 1]);
        squares += use * use;
    }
    for (int i = 0; i < p->ways; i++) {
        if (found.joint != GROUND && p->use[i] <= most) continue;
        most = p->use[i];
        found.joint = p->joint[i];
    }
    found.use = d->any_way > 0 ? sqrt(squares) : most;
    return found;
}

static Status split(Splitting *p, const Demand *d, double enough, DemandUse *found, Fault *fault)
{
    double before = INFINITY;
    for (int pass = 0; pass < PASSES; pass++) {
        Lanes left;
        if (voice_stopped(p->springs->voice)) return structure_stopped(fault);
        springs_balance(p->springs, p->force, p->support, &left);
        keep_best(p, &left);
        *found = found_for(p, d);
        if (found->use <= enough) break;
        if (pass % PASSES_IDLE == PASSES_IDLE - 1) {
            if (!(found->use < (1 - GAIN) * before)) break;
            before = found->use;
        }
        if (pass == 0) memcpy(p->next, p->force, p->springs->joints * FORCES * sizeof *p->next);
        reflect(p);
    }
    return STATUS_OK;
}

/* One lane for each way and share. */
static void load_lanes(Splitting *p, const Demand *d)
{
    p->ways = d->any_way > 0 ? 2 * AXES : d->ways;
    springs_unload(p->springs);
    for (int t = 0; t < TARGETS && (t + 1) * p->ways <= LANES; t++)
        for (int i = 0; i < p->ways; i++) {
            const int lane = p->lanes++;
            double g[AXES] = {0};
            if (d->any_way > 0)
                g[i / 2] = i % 2 ? -d->any_way : d->any_way;
            else
                memcpy(g, d->way[i], sizeof g);
            p->way[lane] = i;
            p->target[lane] = d->any_way > 0 ? any_way_share : target_shares[t];
            for (int axis = 0; axis < AXES; axis++) springs_weigh(p->springs, lane, axis, g[axis]);
        }
    for (int i = 0; i < p->ways; i++) p->use[i] = INFINITY;
}

Status splitting_find(const Demand *demand, Springs *springs, double enough, DemandUse *found_out,
                      Fault *fault)
{
    const size_t n = springs->joints, supports = springs->bearing->supports;
    Splitting p = {.springs = springs,
                   .force = memory_create(n, FORCES * sizeof *p.force),
                   .next = memory_create(n, FORCES * sizeof *p.next),
                   .support = memory_create(supports, AXES * sizeof *p.support)};
    Status status = STATUS_OK;
    if (!p.force || !p.next || !p.support) status = memory_fault(fault, n, sizeof *p.force);
    if (!status) load_lanes(&p, demand);
    if (!status) status = split(&p, demand, enough, found_out, fault);
    memory_free(p.force);
    memory_free(p.next);
    memory_free(p.support);
    return status;
}
