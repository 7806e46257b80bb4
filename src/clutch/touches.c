/* Idea. A newton at the brick, balanced by springs, gives each joint's share; one over the largest
 * is a force that is certain to be held. A push and its opposite differ in the sign of the pull
 * alone. Several bricks and axes are solved side by side, one in each lane.
 *
 * What a push asks for fades away from it. Springs store, over all joints, as much as the push
 * works: the sum of their shares squared, which is known before any of them. So joints are looked
 * at from the brick on, one beside the other, until what the others can store together is less than
 * the largest share found: a joint's use is at most the root of twice its sum. Most bricks hold so
 * much that none needs to be looked at.
 *
 * Invariants. What is found is what all joints would give, of equal shares that of the first joint,
 * unless that is more than anybody asks for.
 *
 * Source. Springs are near exact here: on three panels of a relief their holds of the weakest brick
 * were 0.28, 0.16 and 1.13 N, those of the linear program 0.28, 0.16 and 1.12 N. */
#include "clutch/touches.h"

#include "base/memory.h"
#include "base/simd8.h"
#include "base/voice.h"

#include <math.h>
#include <string.h>

/* For what the sums of squares are off by rounding, of the whole. */
#define ROUNDING 1e-9

/* What the lanes found: the largest share of any joint, and which. */
typedef struct LaneUse {
    LaneMasks outward; /* lanes that are pushed one way alone */
    Lanes use, joint;
    Lanes left; /* the sum over joints that were not looked at */
} LaneUse;

/* Bricks from those that are pushed on, neighbour by neighbour. */
typedef struct Spreading {
    Springs *springs;
    uint32_t *first, *joint; /* bricks + 1: where its joints begin in `joint` */
    uint32_t *line;          /* bricks, in the order in which they are reached */
    size_t reached, done;    /* of `line` */
    uint8_t *is_reached;     /* bricks */
    uint8_t *is_done;        /* joints */
    double most;             /* the largest share so far of a newton's push */
    double little;           /* shares up to this do not matter */
} Spreading;

/* By address: vectors this wide, by value, would change how a function is called. */
INLINED void take_larger(const Lanes *use, const Lanes *joint, LaneUse *found)
{
    const LaneMasks more = (*use > found->use) | ((*use == found->use) & (*joint < found->joint));
    found->use = lanes_either(more, *use, found->use);
    found->joint = lanes_either(more, *joint, found->joint);
}

/* To and fro the pull counts by its size, outward by its sign. */
INLINED void take_joint(const Springs *s, uint32_t i, LaneUse *found)
{
    const double *w = s->stiffness + (size_t)i * FORCES;
    Lanes f[FORCES], use;
    const Lanes joint = (Lanes){0} + (double)i;
    springs_parting(s, i, f);
    for (int k = 0; k < FORCES; k++) {
        const Lanes force = f[k] * w[k];
        found->left -= force * f[k];
        f[k] = force;
    }
    const Lanes pull = lanes_either(found->outward, -f[2], lanes_size(f[2]));
    springs_use(&s->structure->joint[i], f, &pull, &use);
    take_larger(&use, &joint, found);
}

/* ---- from brick to brick ---- */

static Status spreading_init(Spreading *p, Springs *springs, Fault *fault)
{
    const Structure *t = springs->structure;
    *p = (Spreading){.springs = springs,
                     .first = memory_create(t->bricks + 2, sizeof *p->first),
                     .joint = memory_create(2 * springs->joints + 1, sizeof *p->joint),
                     .line = memory_create(t->bricks, sizeof *p->line),
                     .is_reached = memory_create(t->bricks, 1),
                     .is_done = memory_create(springs->joints + 1, 1)};
    if (!p->first || !p->joint || !p->line || !p->is_reached || !p->is_done)
        return memory_fault(fault, t->bricks, sizeof *p->first);
    for (size_t i = 0; i < springs->joints; i++) {
        p->first[t->joint[i].upper + 2]++;
        if (t->joint[i].lower != GROUND) p->first[t->joint[i].lower + 2]++;
    }
    for (size_t i = 2; i < t->bricks + 2; i++) p->first[i] += p->first[i - 1];
    for (size_t i = 0; i < springs->joints; i++) {
        p->joint[p->first[t->joint[i].upper + 1]++] = (uint32_t)i;
        if (t->joint[i].lower != GROUND) p->joint[p->first[t->joint[i].lower + 1]++] = (uint32_t)i;
    }
    return STATUS_OK;
}

static void spreading_clear(Spreading *p)
{
    memory_free(p->first);
    memory_free(p->joint);
    memory_free(p->line);
    memory_free(p->is_reached);
    memory_free(p->is_done);
}

static void reach(Spreading *p, uint32_t brick)
{
    if (brick == GROUND || p->is_reached[brick]) return;
    p->is_reached[brick] = 1;
    p->line[p->reached++] = brick;
    springs_poke_reach(p->springs, brick);
}

/* Takes all joints of the next brick. */
WIDEST static void take_brick(Spreading *p, LaneUse *found)
{
    const uint32_t brick = p->line[p->done++];
    for (uint32_t k = p->first[brick]; k < p->first[brick + 1]; k++) {
        const uint32_t i = p->joint[k];
        const Joint *j = &p->springs->structure->joint[i];
        if (p->is_done[i]) continue;
        p->is_done[i] = 1;
        reach(p, j->upper);
        reach(p, j->lower);
        take_joint(p->springs, i, found);
    }
}

/* What a joint that takes all that is left would have as its share. */
static double share_left(const LaneUse *found, const Lanes *whole, int lane)
{
    return sqrt(2 * fmax(0, found->left[lane] + ROUNDING * (*whole)[lane]));
}

/* Whether in every lane the largest share is known, or is too small to matter. */
static bool is_enough(const Spreading *p, const LaneUse *found, const Lanes *whole)
{
    for (int i = 0; i < p->springs->lanes; i++) {
        const double left = share_left(found, whole, i);
        if (!(left < found->use[i]) && !(left <= p->little && found->use[i] <= p->little))
            return false;
    }
    return true;
}

/* From the bricks in line on. */
static void spread(Spreading *p, LaneUse *found)
{
    Lanes whole;
    springs_poke_spread(p->springs, &whole);
    found->left = whole;
    if (!is_enough(p, found, &whole))
        for (size_t i = 0; i < p->reached; i++) springs_poke_reach(p->springs, p->line[i]);
    while (p->done < p->reached && !is_enough(p, found, &whole)) take_brick(p, found);
    for (int i = 0; i < p->springs->lanes && p->done < p->reached; i++)
        found->use[i] = fmax(found->use[i], share_left(found, &whole, i));
}

/* ---- touches ---- */

static void push(Spreading *p, int lane, uint32_t brick, int outward, int axis)
{
    Springs *s = p->springs;
    const RigidBrick *k = &s->structure->brick[brick];
    double at[AXES];
    structure_middle(s->structure, brick, at);
    at[outward] += 0.5 * (outward == AXIS_U ? s->structure->model.layer_mm
                                            : k->nb * s->structure->model.pitch_mm);
    springs_poke(s, lane, brick, at, axis, 1);
    if (p->is_reached[brick]) return;
    p->is_reached[brick] = 1;
    p->line[p->reached++] = brick;
}

static void read_lane(const LaneUse *found, int lane, TouchHold *hold)
{
    const double use = found->use[lane];
    if (use > 0 && 1 / use < hold->newtons)
        *hold = (TouchHold){1 / use, (uint32_t)found->joint[lane]};
}

/* A push, of which so many go side by side. */
typedef struct Push {
    uint32_t item; /* of the bricks to be touched */
    int axis;
} Push;

/* Pushes along the sides first, then those outward: they reach far in a wall. */
static Push push_of(size_t index, size_t bricks, int outward)
{
    const size_t aside = (AXES - 1) * bricks;
    if (index >= aside) return (Push){(uint32_t)(index - aside), outward};
    const int axis = (int)(index % (AXES - 1));
    return (Push){(uint32_t)(index / (AXES - 1)), axis < outward ? axis : axis + 1};
}

static void touch_side_by_side(Spreading *p, const Push *pushes, int lanes, const uint32_t *brick,
                               int outward, TouchHold *hold_out)
{
    LaneUse found = {0};
    springs_poke_begin(p->springs);
    memset(p->is_reached, 0, p->springs->structure->bricks);
    memset(p->is_done, 0, p->springs->joints);
    p->reached = p->done = 0;
    for (int i = 0; i < lanes; i++) {
        found.outward[i] = pushes[i].axis == outward ? -1 : 0;
        push(p, i, brick[pushes[i].item], outward, pushes[i].axis);
    }
    spread(p, &found);
    for (int i = 0; i < lanes; i++) read_lane(&found, i, &hold_out[pushes[i].item]);
}

Status touches_find(Springs *s, const TouchTask *task, TouchHold *hold_out, Fault *fault)
{
    const size_t pushes = AXES * task->bricks;
    Spreading p;
    for (size_t i = 0; i < task->bricks; i++) hold_out[i] = (TouchHold){INFINITY, GROUND};
    Status status = spreading_init(&p, s, fault);
    for (size_t first = 0; first < pushes && !status; first += LANES) {
        Push next[LANES];
        const int lanes = pushes - first < LANES ? (int)(pushes - first) : LANES;
        if (voice_stopped(s->voice)) status = structure_stopped(fault);
        for (int i = 0; i < lanes; i++)
            next[i] = push_of(first + (size_t)i, task->bricks, task->outward);
        if (!status) touch_side_by_side(&p, next, lanes, task->brick, task->outward, hold_out);
        for (int i = 0; i < lanes; i++) p.most = fmax(p.most, 1 / hold_out[next[i].item].newtons);
        p.little = fmin(p.most, 1 / task->enough_n);
    }
    spreading_clear(&p);
    return status;
}
