/* Idea. Each panel is taken by one thread from begin to end: its joints, then for each way of being
 * borne the springs, which serve all cases of that bearing and all touches. Springs clear nearly
 * every panel. Where they say more than the limit, softening looks for a better proof; where that
 * still says that a panel comes apart, splitting looks once more, and after it the linear program
 * tells for certain.
 *
 * Invariants. A panel's figures depend on that panel alone and not on the thread. Of several faults
 * that of the first panel is told.
 *
 * A crate shakes any way, for which there is no one program: the least uses along its three axes,
 * each the worse of both ways, bound that of every direction by the root of the sum of their
 * squares (Cauchy's inequality, since uses of a sum are at most the sum of uses). */
#include "clutch/holds.h"

#include "base/bands.h"
#include "base/memory.h"
#include "clutch/borne.h"
#include "clutch/least_use.h"
#include "clutch/splitting.h"
#include "clutch/touches.h"

#include <math.h>
#include <string.h>

/* A panel under way. */
typedef struct PanelWork {
    const HoldTask *task;
    const Panel *panel;
    size_t first; /* of its bricks in Laid */
    Structure structure;
    Bearing bearing;
    Springs springs;
    WeightForces weight;
    double unbalanced_n; /* of its weight, the most on a brick */
    bool softened;       /* the springs are no longer as stiff as joints hold much */
    PanelHolds *holds;
    float *touch_n; /* of the first of its bricks */
    const Voice *voice;
    Fault *fault;
} PanelWork;

/* ---- the structure ---- */

static RigidBrick rigid_brick(const PanelWork *w, const Brick *k)
{
    const bool wall = w->task->solid->build == BUILD_WALL;
    const int row = k->row - w->panel->row;
    return (RigidBrick){.a = k->column - w->panel->column,
                        .b = wall ? k->tier : row,
                        .u = wall ? row : k->tier,
                        .na = k->columns,
                        .nb = wall ? k->tiers : k->rows,
                        .mass_g = w->task->sizes->size[k->size].mass_g};
}

static Status take_bricks(PanelWork *w, size_t bricks)
{
    RigidBrick *rigid = memory_create(bricks, sizeof *rigid);
    if (!rigid) return memory_fault(w->fault, bricks, sizeof *rigid);
    for (size_t i = 0; i < bricks; i++)
        rigid[i] = rigid_brick(w, &w->task->laid->brick[w->first + i]);
    return structure_init(&w->structure, &w->task->model, rigid, bricks, w->fault);
}

/* ---- the weakest joint ---- */

/* Bricks that are left hanging together with one, once a joint is open; 1 where they still reach
 * what bears them. `mark` is scratch. */
static size_t count_away(const PanelWork *w, uint32_t open, uint32_t from, uint8_t *mark)
{
    const Structure *t = &w->structure;
    size_t away = 1;
    memset(mark, 0, t->bricks);
    mark[from] = 1;
    for (bool spreads = true; spreads;) {
        spreads = false;
        for (size_t i = 0; i < w->springs.joints; i++) {
            const Joint *j = &t->joint[i];
            if (i == open) continue;
            if (j->lower == GROUND && mark[j->upper]) return 1;
            if (j->lower == GROUND || mark[j->lower] == mark[j->upper]) continue;
            mark[j->lower] = mark[j->upper] = 1;
            away++;
            spreads = true;
        }
    }
    for (size_t i = 0; i < w->bearing.supports; i++)
        if (mark[w->bearing.support[i].brick]) return 1;
    return away;
}

static const WeakJoint no_joint = {HOLD_NOTHING, HOLD_NOTHING, 0, 0};

/* What comes away with it is for whoever asks to fill in. */
static WeakJoint weak_joint(const PanelWork *w, uint32_t joint)
{
    if (joint >= w->springs.joints) return no_joint;
    const Joint *j = &w->structure.joint[joint];
    return (WeakJoint){.brick = w->first + j->upper,
                       .below = j->lower == GROUND ? HOLD_NOTHING : w->first + j->lower,
                       .knobs = j->na * j->nb};
}

/* ---- cases ---- */

/* Gravity along one axis, for the program. */
static void weigh_bricks(const PanelWork *w, const double way[AXES], double *load)
{
    for (size_t i = 0; i < w->structure.bricks; i++)
        for (int axis = 0; axis < BLOCK; axis++)
            load[i * BLOCK + (size_t)axis] =
                axis < AXES && !w->springs.loose[i]
                    ? way[axis] * GRAVITY_N_G * w->structure.brick[i].mass_g
                    : 0;
}

static int demand_programs(const Demand *d) { return d->any_way > 0 ? 2 * AXES : d->ways; }

/* The worst of a demand's ways, exactly, or as a bound from below where bricks move as bodies; of
 * any way, what its axes bound. */
static Status find_exactly(PanelWork *w, const Demand *d, const uint32_t *leader,
                           LeastUse *worst_out, bool *fails)
{
    double *load = memory_create(w->structure.bricks, BLOCK * sizeof *load);
    if (!load) return memory_fault(w->fault, w->structure.bricks, BLOCK * sizeof *load);
    const LeastUseTask task = {&w->structure, &w->bearing, w->springs.loose, load, leader};
    double axis_use[AXES] = {0}, most = 0;
    Status status = STATUS_OK;
    *worst_out = (LeastUse){.joint = GROUND};
    for (int i = 0; i < demand_programs(d) && !status; i++) {
        double way[AXES] = {0};
        LeastUse found;
        if (d->any_way > 0)
            way[i / 2] = i % 2 ? -d->any_way : d->any_way;
        else
            memcpy(way, d->way[i], sizeof way);
        weigh_bricks(w, way, load);
        status = least_use_find(&found, &task, w->voice, w->fault);
        if (status) break;
        if (d->any_way > 0) axis_use[i / 2] = fmax(axis_use[i / 2], found.use);
        if (found.use <= most) continue;
        most = found.use;
        *worst_out = found;
        if (leader && most > 1) break;
    }
    memory_free(load);
    *fails = most > 1;
    if (d->any_way > 0)
        worst_out->use =
            sqrt(axis_use[0] * axis_use[0] + axis_use[1] * axis_use[1] + axis_use[2] * axis_use[2]);
    return status;
}

/* The program's time grows about as the square of the joints: one of 1300 took three seconds. A
 * panel for which it would take longer is told by its bound alone, which proves that it holds but
 * never that it does not. */
#define EXACT_JOINTS 1500.0
/* Up to so many it takes no longer than to ask by bodies first. */
#define FEW_JOINTS 500.0

static bool is_worth_program(const PanelWork *w, const Demand *d, const uint32_t *leader,
                             double most)
{
    const LeastUseTask task = {&w->structure, &w->bearing, w->springs.loose, NULL, leader};
    const double joints = (double)least_use_joints(&task);
    return joints * joints * demand_programs(d) <= most * most;
}

/* Joints that take less than this under the softened springs open last, if at all. Ours. */
#define FIRM_USE 0.5

static uint32_t body_of(const uint32_t *leader, uint32_t brick)
{
    while (leader[brick] != brick) brick = leader[brick];
    return brick;
}

/* Bricks that firm joints bind are one body, led by the first of them. */
static void find_bodies(const PanelWork *w, const double *use, uint32_t *leader)
{
    const uint32_t n = (uint32_t)w->structure.bricks;
    for (uint32_t i = 0; i < n; i++) leader[i] = i;
    for (size_t i = 0; i < w->springs.joints; i++) {
        const Joint *j = &w->structure.joint[i];
        if (j->lower == GROUND || use[i] >= FIRM_USE) continue;
        const uint32_t a = body_of(leader, j->lower), b = body_of(leader, j->upper);
        leader[a < b ? b : a] = a < b ? a : b;
    }
    for (uint32_t i = 0; i < n; i++) leader[i] = leader[leader[i]];
}

/* Tells whether a panel comes apart, first from bodies alone: that takes a tenth of the time and
 * mostly settles those that do. use: of each joint as the springs were softened. */
static Status prove(PanelWork *w, const Demand *d, const double *use, CaseHold *hold,
                    DemandUse *found)
{
    const size_t n = w->structure.bricks;
    uint32_t *leader = memory_create(n, sizeof *leader);
    LeastUse least = {.joint = GROUND};
    if (!leader) return memory_fault(w->fault, n, sizeof *leader);
    Status status = STATUS_OK;
    bool exact = is_worth_program(w, d, NULL, FEW_JOINTS);
    find_bodies(w, use, leader);
    if (!exact && is_worth_program(w, d, leader, EXACT_JOINTS))
        status = find_exactly(w, d, leader, &least, &hold->fails);
    exact |= !hold->fails && is_worth_program(w, d, NULL, EXACT_JOINTS);
    if (!status && exact) status = find_exactly(w, d, NULL, &least, &hold->fails);
    memory_free(leader);
    if (status || (!hold->fails && !(exact && least.use < found->use))) return status;
    if (exact) found->use = fmin(found->use, least.use);
    if (exact) hold->proof = PROOF_EXACT;
    /* What gives by twisting alone opens no joint: the one that the bound names stays. */
    if (least.joint != GROUND) found->joint = least.joint;
    hold->moving = least.moving;
    return STATUS_OK;
}

/* The springs are as softening left them, which is nearer to what is sought than as they began. */
static Status split_forces(PanelWork *w, const Demand *d, CaseHold *hold, DemandUse *found)
{
    DemandUse other;
    const Status status = splitting_find(d, &w->springs, 1 / w->task->safety, &other, w->fault);
    if (status || !(other.use < found->use)) return status;
    *found = other;
    hold->proof = PROOF_SOFTENED;
    return STATUS_OK;
}

static Status look_closer(PanelWork *w, const Demand *d, CaseHold *hold, DemandUse *found)
{
    DemandUse other;
    double *use = memory_create(w->springs.joints, sizeof *use);
    if (!use) return memory_fault(w->fault, w->springs.joints, sizeof *use);
    w->softened = true;
    Status status = demand_soften(d, &w->springs, 1 / w->task->safety, &other, use, w->fault);
    if (!status && other.use < found->use) {
        *found = other;
        hold->proof = PROOF_SOFTENED;
    }
    if (!status && found->use > 1) status = split_forces(w, d, hold, found);
    if (!status && found->use > 1) status = prove(w, d, use, hold, found);
    memory_free(use);
    return status;
}

static Status take_case(PanelWork *w, LoadCase load_case)
{
    const HoldTask *t = w->task;
    const Demand d = load_case_demand(load_case, t->crate_g);
    CaseHold *hold = &w->holds->at[load_case];
    Status status = STATUS_OK;
    if (w->unbalanced_n > UNBALANCED_MOST) return STATUS_OK; /* nothing bears it this way */
    hold->proof = PROOF_SPRINGS;
    DemandUse found = demand_use(&d, &w->springs, &w->weight, NULL);
    if (found.use > 1 / t->safety && (t->cases & (1U << load_case)))
        status = look_closer(w, &d, hold, &found);
    hold->use = found.use;
    hold->weakest = weak_joint(w, found.joint);
    return status;
}

/* ---- touches ---- */

/* A brick stands out and has a face that is open to the viewer. */
static bool can_be_touched(const PanelWork *w, const Brick *k)
{
    const Solid *solid = w->task->solid;
    const int outward = k->tier + k->tiers;
    if (outward <= solid->base) return false;
    for (int row = k->row; row < k->row + k->rows; row++)
        for (int column = k->column; column < k->column + k->columns; column++)
            if (solid_top(solid, column, row) == outward) return true;
    return false;
}

static void keep_touch(PanelWork *w, uint32_t brick, const TouchHold *hold, uint32_t *joint)
{
    PanelHolds *h = w->holds;
    w->touch_n[brick] = (float)hold->newtons;
    h->touched++;
    h->feeble += hold->newtons < FEEBLE_N;
    h->slight += hold->newtons < w->task->touch_n;
    if (hold->newtons >= h->least_hold_n) return;
    h->least_hold_n = hold->newtons;
    h->least_brick = w->first + brick;
    *joint = hold->joint;
}

static Status take_touches(PanelWork *w, uint8_t *mark)
{
    const size_t n = w->structure.bricks;
    const int outward = w->task->solid->build == BUILD_WALL ? AXIS_B : AXIS_U;
    uint32_t *brick = memory_create(n, sizeof *brick), joint = GROUND;
    TouchHold *hold = memory_create(n, sizeof *hold);
    size_t touched = 0;
    Status status = brick && hold ? STATUS_OK : memory_fault(w->fault, n, sizeof *hold);
    for (size_t i = 0; i < n && !status; i++)
        if (can_be_touched(w, &w->task->laid->brick[w->first + i]) && !w->springs.loose[i])
            brick[touched++] = (uint32_t)i;
    if (!status && w->softened) status = springs_set(&w->springs, NULL, w->fault);
    const TouchTask task = {brick, touched, outward, fmax(FIRM_N, w->task->touch_n)};
    if (!status) status = touches_find(&w->springs, &task, hold, w->fault);
    for (size_t i = 0; i < touched && !status; i++) keep_touch(w, brick[i], &hold[i], &joint);
    if (!status && joint != GROUND) {
        w->holds->least_joint = weak_joint(w, joint);
        w->holds->least_joint.away = count_away(w, joint, w->structure.joint[joint].upper, mark);
    }
    memory_free(brick);
    memory_free(hold);
    return status;
}

/* ---- a panel ---- */

static bool has_case(const PanelWork *w, BearingKind kind)
{
    const Build build = w->task->solid->build;
    for (int i = 0; i < LOAD_CASES; i++)
        if (load_case_applies((LoadCase)i, build) && load_case_bearing((LoadCase)i, build) == kind)
            return true;
    return false;
}

static Status take_cases(PanelWork *w, BearingKind kind, uint8_t *mark)
{
    const Build build = w->task->solid->build;
    Status status = springs_set(&w->springs, NULL, w->fault);
    w->softened = false;
    if (!status) status = weight_forces_init(&w->weight, w->springs.joints, w->fault);
    if (!status) weight_forces_find(&w->weight, &w->springs);
    if (!status) w->unbalanced_n = springs_unbalanced(&w->springs);
    for (int i = 0; i < LOAD_CASES && !status; i++)
        if (load_case_applies((LoadCase)i, build) && load_case_bearing((LoadCase)i, build) == kind)
            status = take_case(w, (LoadCase)i);
    if (kind != BORNE_BELOW || status) return status;
    w->holds->loose = w->springs.loose_bricks;
    return w->task->touch_n > 0 ? take_touches(w, mark) : STATUS_OK;
}

static Status take_bearing(PanelWork *w, BearingKind kind, uint8_t *mark)
{
    Status status = load_case_bear(kind, &w->structure, w->panel->columns, &w->bearing, w->fault);
    if (!status) springs_bear(&w->springs, &w->bearing);
    if (!status) status = take_cases(w, kind, mark);
    weight_forces_clear(&w->weight);
    bearing_clear(&w->bearing);
    return status;
}

static Status take_panel(PanelWork *w, size_t bricks)
{
    Status status = take_bricks(w, bricks);
    uint8_t *mark = memory_create(bricks, 1);
    if (!status && !mark) status = memory_fault(w->fault, bricks, 1);
    if (!status) status = springs_init(&w->springs, &w->structure, w->voice, w->fault);
    for (int kind = 0; kind < BEARINGS && !status; kind++)
        if (has_case(w, (BearingKind)kind)) status = take_bearing(w, (BearingKind)kind, mark);
    memory_free(mark);
    springs_clear(&w->springs);
    structure_clear(&w->structure);
    return status;
}

/* ---- all panels ---- */

typedef struct HoldRun {
    const HoldTask *task;
    Holds *holds;
    const size_t *first; /* panels + 1: where each one's bricks begin */
    Status *status;      /* panels */
    Fault *fault;        /* panels */
    const Voice *voice;
} HoldRun;

static void take_panels(void *context, int begin, int end, int worker)
{
    const HoldRun *r = context;
    (void)worker;
    for (int i = begin; i < end; i++) {
        PanelWork work = {.task = r->task,
                          .panel = &r->task->panels->panel[i],
                          .first = r->first[i],
                          .holds = &r->holds->panel[i],
                          .touch_n = r->holds->touch_n + r->first[i],
                          .voice = r->voice,
                          .fault = &r->fault[i]};
        if (r->first[i + 1] > r->first[i])
            r->status[i] = take_panel(&work, r->first[i + 1] - r->first[i]);
    }
}

static void find_first_bricks(const HoldTask *t, size_t *first)
{
    for (size_t i = 0; i < t->laid->count; i++) first[t->laid->brick[i].panel + 1] = i + 1;
    for (int i = 0; i < t->panels->count; i++)
        if (first[i + 1] < first[i]) first[i + 1] = first[i];
}

static Status take_all(HoldRun *r, size_t *first, Fault *fault)
{
    const int panels = r->task->panels->count;
    find_first_bricks(r->task, first);
    bands_run_until(r->voice, r->task->threads, panels, 1, take_panels, r);
    if (voice_stopped(r->voice)) return structure_stopped(fault);
    for (int i = 0; i < panels; i++) {
        if (!r->status[i]) continue;
        if (fault) *fault = r->fault[i];
        return r->status[i];
    }
    return STATUS_OK;
}

Status holds_init(Holds *holds_out, const HoldTask *task, const Voice *voice, Fault *fault)
{
    const size_t panels = (size_t)task->panels->count, bricks = task->laid->count;
    Holds *h = holds_out;
    *h = (Holds){.cases = task->cases,
                 .panel = memory_create(panels, sizeof *h->panel),
                 .touch_n = memory_create(bricks, sizeof *h->touch_n)};
    size_t *first = memory_create(panels + 1, sizeof *first);
    HoldRun run = {.task = task,
                   .holds = h,
                   .first = first,
                   .status = memory_create(panels, sizeof *run.status),
                   .fault = memory_create(panels, sizeof *run.fault),
                   .voice = voice};
    Status status = STATUS_OK;
    if (!h->panel || !h->touch_n || !first || !run.status || !run.fault)
        status = memory_fault(fault, bricks, sizeof *h->touch_n);
    for (size_t i = 0; i < panels && !status; i++) {
        h->panel[i] = (PanelHolds){.least_hold_n = INFINITY, .least_brick = HOLD_NOTHING};
        h->panel[i].least_joint = no_joint;
        for (int k = 0; k < LOAD_CASES; k++) h->panel[i].at[k].weakest = no_joint;
    }
    for (size_t i = 0; i < bricks && !status; i++) h->touch_n[i] = NAN;
    if (!status) status = take_all(&run, first, fault);
    memory_free(first);
    memory_free(run.status);
    memory_free(run.fault);
    return status;
}

void holds_clear(Holds *holds)
{
    memory_free(holds->panel);
    memory_free(holds->touch_n);
    *holds = (Holds){0};
}

WorstHold holds_worst(const Holds *holds, int panels)
{
    WorstHold worst = {0, -1, CASE_HANGING};
    for (int i = 0; i < panels; i++)
        for (int k = 0; k < LOAD_CASES; k++) {
            const CaseHold *hold = &holds->panel[i].at[k];
            if (!(holds->cases & (1U << k)) || hold->proof == PROOF_NONE) continue;
            if (hold->use > worst.use || worst.panel < 0)
                worst = (WorstHold){hold->use, i, (LoadCase)k};
        }
    return worst;
}

int holds_least(const Holds *holds, int panels)
{
    int least = 0;
    for (int i = 1; i < panels; i++)
        if (holds->panel[i].least_hold_n < holds->panel[least].least_hold_n) least = i;
    return least;
}

int holds_failing(const Holds *holds, int panels)
{
    int failing = 0;
    for (int i = 0; i < panels; i++) {
        bool fails = false;
        for (int k = 0; k < LOAD_CASES; k++)
            fails |= (holds->cases & (1U << k)) && holds->panel[i].at[k].fails;
        failing += fails;
    }
    return failing;
}
