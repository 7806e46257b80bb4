/* Idea. A newton at the brick, balanced by springs, gives each joint's share; one over the largest
 * is a force that is certain to be held. A push and its opposite differ in the sign of the pull
 * alone. Several bricks and axes are solved side by side, one in each lane.
 *
 * Source. Springs are near exact here: on three panels of a relief their holds of the weakest brick
 * were 0.28, 0.16 and 1.13 N, those of the linear program 0.28, 0.16 and 1.12 N. */
#include "clutch/touches.h"

#include "base/simd8.h"

#include <math.h>

typedef int64_t Masks __attribute__((vector_size(8 * sizeof(int64_t)), aligned(8), may_alias));

/* What the lanes found: the largest share of any joint, and which. */
typedef struct LaneUse {
    Masks outward; /* lanes that are pushed one way alone */
    Lanes use, joint;
} LaneUse;

#define LARGER(a, b, x, y) ((Lanes)(((Masks)(x) & ((a) > (b))) | ((Masks)(y) & ~((a) > (b)))))
#define SIZE_OF(x) ((Lanes)((Masks)(x)&INT64_MAX))

/* By address: vectors this wide, by value, would change how a function is called. */
INLINED void take_larger(const Lanes *use, const Lanes *joint, LaneUse *found)
{
    const Lanes before = found->use;
    found->use = LARGER(*use, before, *use, before);
    found->joint = LARGER(*use, before, *joint, found->joint);
}

/* To and fro the pull counts by its size, outward by its sign. */
WIDE static void find_uses(const Springs *s, LaneUse *found)
{
    for (size_t i = 0; i < s->joints; i++) {
        const Joint *j = &s->structure->joint[i];
        Lanes f[FORCES], joint = (Lanes){0} + (double)i;
        springs_forces(s, i, f);
        const Lanes one = SIZE_OF(f[3]) * (2.0 / j->nb), other = SIZE_OF(f[4]) * (2.0 / j->na);
        const Lanes bent = LARGER(one, other, one, other);
        const double by = 1 / j->pull_n;
        const Lanes pull =
            (Lanes)(((Masks)-f[2] & found->outward) | ((Masks)SIZE_OF(f[2]) & ~found->outward));
        const Lanes use = (bent + pull) * by;
        take_larger(&use, &joint, found);
        if (!joint_is_single(j)) continue;
        const Lanes twist = SIZE_OF(f[5]) * (by / KNOB_RADIUS);
        take_larger(&twist, &joint, found);
    }
}

static void push(Springs *s, int lane, uint32_t brick, int outward, int axis)
{
    const RigidBrick *k = &s->structure->brick[brick];
    double at[AXES];
    structure_middle(s->structure, brick, at);
    at[outward] += 0.5 * (outward == AXIS_U ? s->structure->model.layer_mm
                                            : k->nb * s->structure->model.pitch_mm);
    springs_push(s, lane, brick, at, axis, 1);
}

static void read_lane(const LaneUse *found, int lane, TouchHold *hold)
{
    const double use = found->use[lane];
    if (use > 0 && 1 / use < hold->newtons)
        *hold = (TouchHold){1 / use, (uint32_t)found->joint[lane]};
}

bool touches_find(Springs *s, const uint32_t *brick, size_t bricks, int outward, const Voice *voice,
                  TouchHold *hold_out)
{
    const size_t items = AXES * bricks;
    for (size_t i = 0; i < bricks; i++) hold_out[i] = (TouchHold){INFINITY, GROUND};
    for (size_t first = 0; first < items; first += LANES) {
        const int lanes = items - first < LANES ? (int)(items - first) : LANES;
        LaneUse found = {0};
        if (voice_stopped(voice)) return false;
        springs_unload(s);
        for (int lane = 0; lane < lanes; lane++) {
            const size_t item = first + (size_t)lane;
            found.outward[lane] = (int)(item % AXES) == outward ? -1 : 0;
            push(s, lane, brick[item / AXES], outward, (int)(item % AXES));
        }
        springs_solve(s, false);
        find_uses(s, &found);
        for (int lane = 0; lane < lanes; lane++) {
            const size_t item = first + (size_t)lane;
            read_lane(&found, lane, &hold_out[item / AXES]);
        }
    }
    return true;
}
