/* Idea. Bricks are taken layer by layer. A map of the layer before names the brick of each unit,
 * so that a brick finds those under it; two boxes meet in one rectangle, whose extent follows from
 * theirs.
 *
 * Invariants. Joints come in the order of their upper bricks, and under one brick in that of their
 * first unit; so the same bricks give the same joints in the same order.
 *
 * Source. What a knob holds: P. Funes, thesis, Brandeis 2001, table 2.1 (bricks one wide); builds
 * that stand and fall of R. Liu, K. Deng, Z. Wang, C. Liu, IEEE Robotics and Automation Letters
 * 9(11), 2024, doi 10.1109/LRA.2024.3414281. The brick whose hollow holds the knob decides. */
#include "clutch/structure.h"

#include "base/memory.h"

#include <math.h>

/* The layer before, while joints are looked for. */
typedef struct LayerMap {
    int across, deep;
    uint32_t *unit;  /* deep x across: brick + 1, 0 for none */
    uint32_t *stamp; /* bricks: the last upper brick that was joined to it, + 1 */
} LayerMap;

static int whole_most(int a, int b) { return a > b ? a : b; }
static int whole_least(int a, int b) { return a < b ? a : b; }

static void paint_layer(const Structure *s, LayerMap *map, size_t begin, size_t end, bool names)
{
    for (size_t i = begin; i < end; i++) {
        const RigidBrick *k = &s->brick[i];
        for (int b = k->b; b < k->b + k->nb; b++)
            for (int a = k->a; a < k->a + k->na; a++)
                map->unit[(size_t)b * (size_t)map->across + (size_t)a] =
                    names ? (uint32_t)i + 1 : 0;
    }
}

static Status add_joint(Structure *s, uint32_t lower, uint32_t upper, Fault *fault)
{
    const RigidBrick *top = &s->brick[upper], *under = lower == GROUND ? top : &s->brick[lower];
    const int a = whole_most(top->a, under->a), b = whole_most(top->b, under->b);
    const int na = whole_least(top->a + top->na, under->a + under->na) - a;
    const int nb = whole_least(top->b + top->nb, under->b + under->nb) - b;
    const double pitch = s->model.pitch_mm;
    const KnobHold *knob = &s->model.knob;
    const Status status =
        memory_grow(&s->joint, &s->joint_capacity, s->joints + 1, sizeof *s->joint, fault);
    if (status) return status;
    const double hold = whole_least(top->na, top->nb) == 1 ? knob->narrow : knob->wide;
    s->joint[s->joints++] =
        (Joint){.lower = lower,
                .upper = upper,
                .na = na,
                .nb = nb,
                .at = {(a + 0.5 * na) * pitch, (b + 0.5 * nb) * pitch, top->u * s->model.layer_mm},
                .pull_n = na * nb * hold};
    return STATUS_OK;
}

static Status join_down(Structure *s, LayerMap *map, uint32_t upper, Fault *fault)
{
    const RigidBrick *k = &s->brick[upper];
    Status status = STATUS_OK;
    for (int b = k->b; b < k->b + k->nb; b++)
        for (int a = k->a; a < k->a + k->na && !status; a++) {
            const uint32_t lower = map->unit[(size_t)b * (size_t)map->across + (size_t)a];
            if (!lower || map->stamp[lower - 1] == upper + 1) continue;
            map->stamp[lower - 1] = upper + 1;
            status = add_joint(s, lower - 1, upper, fault);
        }
    return status;
}

static Status join_layers(Structure *s, LayerMap *map, Fault *fault)
{
    Status status = STATUS_OK;
    size_t last = 0;
    for (size_t begin = 0, end; begin < s->bricks && !status; last = begin, begin = end) {
        const int u = s->brick[begin].u;
        for (end = begin; end < s->bricks && s->brick[end].u == u;) end++;
        const bool above = begin > 0 && s->brick[last].u == u - 1;
        if (above) paint_layer(s, map, last, begin, true);
        for (size_t i = begin; i < end && above && !status; i++)
            status = join_down(s, map, (uint32_t)i, fault);
        if (above) paint_layer(s, map, last, begin, false);
    }
    return status;
}

static Status join_ground(Structure *s, Fault *fault)
{
    Status status = STATUS_OK;
    for (size_t i = 0; i < s->bricks && s->brick[i].u == 0 && !status; i++)
        status = add_joint(s, GROUND, (uint32_t)i, fault);
    return status;
}

Status structure_init(Structure *structure_out, const JointModel *model, RigidBrick *brick,
                      size_t bricks, Fault *fault)
{
    Structure *s = structure_out;
    *s = (Structure){.model = *model, .bricks = bricks, .brick = brick};
    LayerMap map = {1, 1, NULL, NULL};
    for (size_t i = 0; i < bricks; i++) {
        map.across = whole_most(map.across, brick[i].a + brick[i].na);
        map.deep = whole_most(map.deep, brick[i].b + brick[i].nb);
    }
    map.unit = memory_create((size_t)map.across, (size_t)map.deep * sizeof *map.unit);
    map.stamp = memory_create(bricks, sizeof *map.stamp);
    Status status = STATUS_OK;
    if (!map.unit || !map.stamp) status = memory_fault(fault, bricks, sizeof *map.stamp);
    if (!status) status = join_layers(s, &map, fault);
    s->inner = s->joints;
    if (!status) status = join_ground(s, fault);
    memory_free(map.unit);
    memory_free(map.stamp);
    return status;
}

void structure_clear(Structure *structure)
{
    memory_free(structure->brick);
    memory_free(structure->joint);
    *structure = (Structure){0};
}

void structure_middle(const Structure *s, uint32_t brick, double middle_out[AXES])
{
    const RigidBrick *k = &s->brick[brick];
    middle_out[AXIS_A] = (k->a + 0.5 * k->na) * s->model.pitch_mm;
    middle_out[AXIS_B] = (k->b + 0.5 * k->nb) * s->model.pitch_mm;
    middle_out[AXIS_U] = (k->u + 0.5) * s->model.layer_mm;
}

void structure_arm(const Structure *s, uint32_t brick, const double at[AXES], double arm_out[AXES])
{
    structure_middle(s, brick, arm_out);
    for (int i = 0; i < AXES; i++) arm_out[i] = (at[i] - arm_out[i]) / s->model.pitch_mm;
}

Status structure_stopped(Fault *fault)
{
    return fault_set(fault, STATUS_INTERRUPTED,
                     "forces: stopped from outside, nothing was changed; run it again");
}

Status bearing_add(Bearing *bearing, const Support *support, Fault *fault)
{
    const Status status = memory_grow(&bearing->support, &bearing->capacity, bearing->supports + 1,
                                      sizeof *bearing->support, fault);
    if (!status) bearing->support[bearing->supports++] = *support;
    return status;
}

void bearing_clear(Bearing *bearing)
{
    memory_free(bearing->support);
    *bearing = (Bearing){0};
}

double joint_use(const Joint *joint, const JointForce *f)
{
    const double bent = fmax(2 * fabs(f->turn_a) / joint->nb, 2 * fabs(f->turn_b) / joint->na);
    double use = fmax(0, f->pull + bent) / joint->pull_n;
    if (joint_is_single(joint)) use = fmax(use, fabs(f->turn_u) / (KNOB_RADIUS * joint->pull_n));
    return use;
}
