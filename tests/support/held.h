/* Small builds for tests of forces: bricks put one by one, a bearing, a load, and what the springs,
 * their softening and the linear program say of it. */
#ifndef ROWLOCK_TESTS_HELD_H
#define ROWLOCK_TESTS_HELD_H

#include "clutch/demand.h"
#include "clutch/least_use.h"
#include "clutch/splitting.h"
#include "clutch/touches.h"

#include <stdlib.h>
#include <string.h>

enum { BUILD_MOST = 1024 };

typedef struct HeldBuild {
    JointModel model;
    size_t count;
    RigidBrick brick[BUILD_MOST]; /* by layer once it stands */
    Structure structure;
    Bearing bearing;
    Springs springs;
    double *load; /* bricks x 6 */
} HeldBuild;

static inline void build_put(HeldBuild *h, int a, int b, int u, int na, int nb, double mass_g)
{
    if (h->count == BUILD_MOST) abort();
    h->brick[h->count++] = (RigidBrick){a, b, u, na, nb, mass_g};
}

static inline int build_by_layer(const void *p, const void *q)
{
    const RigidBrick *x = p, *y = q;
    if (x->u != y->u) return x->u < y->u ? -1 : 1;
    if (x->b != y->b) return x->b < y->b ? -1 : 1;
    return x->a < y->a ? -1 : x->a > y->a;
}

/* The joints; a bearing may be added to until springs are made. */
static inline void build_join(HeldBuild *h, bool footing)
{
    Fault fault;
    RigidBrick *bricks = malloc(h->count * sizeof *bricks);
    if (!bricks) abort();
    qsort(h->brick, h->count, sizeof *h->brick, build_by_layer);
    memcpy(bricks, h->brick, h->count * sizeof *bricks);
    if (structure_init(&h->structure, &h->model, bricks, h->count, &fault)) abort();
    h->bearing = (Bearing){.footing = footing};
    h->load = calloc(h->count * BLOCK, sizeof *h->load);
    if (!h->load) abort();
}

static inline void build_support(HeldBuild *h, const Support *support)
{
    Fault fault;
    if (bearing_add(&h->bearing, support, &fault)) abort();
}

static inline void build_spring(HeldBuild *h)
{
    Fault fault;
    if (springs_init(&h->springs, &h->structure, NULL, &fault)) abort();
    springs_bear(&h->springs, &h->bearing);
    if (springs_set(&h->springs, NULL, &fault)) abort();
}

/* Weight along g, in g along a, b and u. */
static inline void build_weigh(HeldBuild *h, const double g[AXES])
{
    for (size_t i = 0; i < h->count; i++)
        for (int k = 0; k < AXES; k++)
            h->load[i * BLOCK + (size_t)k] = g[k] * GRAVITY_N_G * h->structure.brick[i].mass_g;
}

/* leader: as in LeastUseTask. */
static inline double build_bound(HeldBuild *h, const uint32_t *leader, LeastUse *least)
{
    Fault fault = {0};
    LeastUse own;
    if (!least) least = &own;
    const LeastUseTask task = {&h->structure, &h->bearing, h->springs.loose, h->load, leader};
    if (least_use_find(least, &task, NULL, &fault)) abort();
    return least->use;
}

static inline double build_exact(HeldBuild *h, LeastUse *least)
{
    return build_bound(h, NULL, least);
}

static inline Demand build_demand(const double g[AXES])
{
    return (Demand){.ways = 1, .way = {{g[0], g[1], g[2]}}};
}

static inline double build_springs(HeldBuild *h, const double g[AXES], double *unbalanced)
{
    Fault fault;
    WeightForces forces;
    const Demand demand = build_demand(g);
    if (weight_forces_init(&forces, h->springs.joints, &fault)) abort();
    if (springs_set(&h->springs, NULL, &fault)) abort();
    weight_forces_find(&forces, &h->springs);
    const double use = demand_use(&demand, &h->springs, &forces, NULL).use;
    if (unbalanced) *unbalanced = springs_unbalanced(&h->springs);
    weight_forces_clear(&forces);
    return use;
}

static inline double build_softened(HeldBuild *h, const double g[AXES])
{
    Fault fault;
    DemandUse best;
    const Demand demand = build_demand(g);
    if (demand_soften(&demand, &h->springs, 0, &best, NULL, &fault)) abort();
    return best.use;
}

static inline double build_split(HeldBuild *h, const double g[AXES])
{
    Fault fault;
    DemandUse best;
    const Demand demand = build_demand(g);
    if (springs_set(&h->springs, NULL, &fault)) abort();
    if (splitting_find(&demand, &h->springs, 0, &best, &fault)) abort();
    return best.use;
}

static inline void build_touch(HeldBuild *h, uint32_t brick, TouchHold *hold_out)
{
    Fault fault;
    const TouchTask task = {&brick, 1, AXIS_U, INFINITY};
    if (touches_find(&h->springs, &task, hold_out, &fault)) abort();
}

static inline void build_clear(HeldBuild *h)
{
    springs_clear(&h->springs);
    structure_clear(&h->structure);
    bearing_clear(&h->bearing);
    free(h->load);
    h->load = NULL;
    h->count = 0;
}

#endif
