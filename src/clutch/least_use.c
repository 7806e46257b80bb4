/* Idea. A linear program. Of each joint: pressures at the four corners of its rectangle, at least
 * 0, and its shears and twist, which are free. All of its pull, times u, acts at its middle. Each
 * brick has six equations; u is made least. No variable for a knob is needed, since a knob's pull
 * and a pressure at the same spot cancel.
 *
 * The duals of a brick's equations are its velocity as the panel comes apart: bricks that move are
 * what comes away, and a joint's share in it is its pull times how fast it opens.
 *
 * Invariants. Loads are in hundredths of a newton: weights of bricks would vanish in the solver's
 * tolerance of 1e-7. Columns stand in the order of joints. Bricks may be taken as one body,
 * which has their equations' sums and no joints within. The solver presolves and scales at
 * first, which takes a quarter of the time, and goes on without from where it came: with its
 * scaling alone Clp 1.17.6 ended 8 % above the optimum on one of 200 random solids.
 *
 * Source. Limit analysis of blocks: R. K. Livesley, Int. J. Numer. Methods Eng. 12 (1978), from
 * memory. The solver is Clp's primal simplex, which took a half to a seventh of the time of its
 * dual and of GLPK on panels of 1400 to 2700 joints; its barrier called one of them infeasible. */
#include "clutch/least_use.h"

#include "base/apart.h"
#include "base/memory.h"

#include <Clp_C_Interface.h>
#include <float.h>
#include <math.h>
#include <string.h>
#include <sys/mman.h>

#define LOAD_UNIT_N 0.01
#define UNLIMITED DBL_MAX /* as the solver has it */
#define MOVES_LEAST 1e-6  /* of the fastest */

enum { CORNERS = 4, JOINT_COLUMNS = CORNERS + 3 };

typedef struct Program {
    const LeastUseTask *task;
    const Structure *structure; /* the task's, as is the next */
    const Bearing *bearing;
    int rows, columns, entries;
    int *row_of;        /* bricks: the first row of its body; -1 for a loose one */
    int *start;         /* columns + 1 */
    int *index;         /* entries */
    double *value;      /* entries */
    double *low, *high; /* columns */
    double *row_low, *row_high;
    double *goal; /* columns: u counts alone */
} Program;

/* ---- bodies ---- */

static uint32_t leader_of(const LeastUseTask *t, uint32_t brick)
{
    return t->leader ? t->leader[brick] : brick;
}

static bool counts(const LeastUseTask *t, const Joint *j)
{
    if (t->loose[j->upper]) return false;
    return j->lower == GROUND || leader_of(t, j->lower) != leader_of(t, j->upper);
}

size_t least_use_joints(const LeastUseTask *t)
{
    size_t joints = 0;
    for (size_t i = 0; i < structure_joints(t->structure, t->bearing); i++)
        joints += counts(t, &t->structure->joint[i]);
    return joints;
}

/* ---- columns ---- */

static void put_entry(Program *p, int row, double value)
{
    if (value == 0) return;
    p->index[p->entries] = row;
    p->value[p->entries++] = value;
}

/* A force along an axis at a point, on a brick. */
static void put_force(Program *p, uint32_t brick, const double at[AXES], int axis, double by)
{
    double arm[AXES], moment[AXES] = {0};
    structure_arm(p->structure, leader_of(p->task, brick), at, arm);
    const int next = (axis + 1) % AXES, last = (axis + 2) % AXES;
    moment[next] = arm[last];
    moment[last] = -arm[next];
    put_entry(p, p->row_of[brick] + axis, by);
    for (int i = 0; i < AXES; i++) put_entry(p, p->row_of[brick] + AXES + i, by * moment[i]);
}

static void end_column(Program *p, double low, double high)
{
    p->low[p->columns] = low;
    p->high[p->columns] = high;
    p->start[++p->columns] = p->entries;
}

static void put_both(Program *p, const Joint *j, const double at[AXES], int axis, double by)
{
    put_force(p, j->upper, at, axis, by);
    if (j->lower != GROUND) put_force(p, j->lower, at, axis, -by);
}

/* A joint of one knob has two rows of its own, from `row`, that limit its twist. */
static void put_joint(Program *p, const Joint *j, int row)
{
    const double pitch = p->structure->model.pitch_mm;
    for (int corner = 0; corner < CORNERS; corner++) {
        const double at[AXES] = {j->at[0] + (corner & 1 ? 0.5 : -0.5) * j->na * pitch,
                                 j->at[1] + (corner & 2 ? 0.5 : -0.5) * j->nb * pitch, j->at[2]};
        put_both(p, j, at, AXIS_U, 1);
        end_column(p, 0, UNLIMITED);
    }
    for (int axis = AXIS_A; axis <= AXIS_B; axis++) {
        put_both(p, j, j->at, axis, 1);
        end_column(p, -UNLIMITED, UNLIMITED);
    }
    put_entry(p, p->row_of[j->upper] + AXES + AXIS_U, 1);
    if (j->lower != GROUND) put_entry(p, p->row_of[j->lower] + AXES + AXIS_U, -1);
    if (joint_is_single(j)) {
        put_entry(p, row, 1);
        put_entry(p, row + 1, -1);
    }
    end_column(p, -UNLIMITED, UNLIMITED);
}

/* The column of u: all pulls, and the limits of single knobs. Pulls on one brick add up. */
static void put_use(Program *p, int row, double *sum)
{
    const Structure *t = p->structure;
    const size_t joints = structure_joints(t, p->bearing);
    for (size_t i = 0; i < joints; i++) {
        const Joint *j = &t->joint[i];
        if (!counts(p->task, j)) continue;
        const int from = p->entries;
        put_both(p, j, j->at, AXIS_U, -j->pull_n);
        for (int k = from; k < p->entries; k++) sum[p->index[k]] += p->value[k];
        p->entries = from;
        if (!joint_is_single(j)) continue;
        sum[row++] = -KNOB_RADIUS * j->pull_n;
        sum[row++] = -KNOB_RADIUS * j->pull_n;
    }
    for (int i = 0; i < p->rows; i++) put_entry(p, i, sum[i]);
    end_column(p, 0, UNLIMITED);
    p->goal[0] = 1;
}

/* ---- the program ---- */

static Status program_room(Program *p, Fault *fault)
{
    const Structure *t = p->structure;
    const size_t joints = structure_joints(t, p->bearing);
    size_t singles = 0;
    for (size_t i = 0; i < joints; i++) singles += joint_is_single(&t->joint[i]);
    const size_t columns = 1 + JOINT_COLUMNS * joints + AXES * p->bearing->supports;
    const size_t rows = BLOCK * t->bricks + 2 * singles;
    /* A force has at most 3 entries on each of two bricks, a twist 4. */
    const size_t entries = rows + 6 * columns + 16;
    if (entries > INT32_MAX / 2) return memory_fault(fault, entries, sizeof *p->value);
    p->row_of = memory_create(t->bricks, sizeof *p->row_of);
    p->start = memory_create(columns + 1, sizeof *p->start);
    p->index = memory_create(entries, sizeof *p->index);
    p->value = memory_create(entries, sizeof *p->value);
    p->low = memory_create(columns, sizeof *p->low);
    p->high = memory_create(columns, sizeof *p->high);
    p->goal = memory_create(columns, sizeof *p->goal);
    p->row_low = memory_create(rows, sizeof *p->row_low);
    p->row_high = memory_create(rows, sizeof *p->row_high);
    if (!p->row_of || !p->start || !p->index || !p->value || !p->low || !p->high || !p->goal ||
        !p->row_low || !p->row_high)
        return memory_fault(fault, entries, sizeof *p->value);
    return STATUS_OK;
}

/* Takes a brick's load from the right sides of its body, about whose leader's middle it turns. */
static void put_load(Program *p, uint32_t brick)
{
    const double *load = p->task->load + (size_t)brick * BLOCK;
    double *right = p->row_low + p->row_of[brick], middle[AXES], arm[AXES];
    structure_middle(p->structure, brick, middle);
    structure_arm(p->structure, leader_of(p->task, brick), middle, arm);
    for (int i = 0; i < AXES; i++) {
        const int next = (i + 1) % AXES, last = (i + 2) % AXES;
        const double moment = load[AXES + i] + arm[next] * load[last] - arm[last] * load[next];
        right[i] -= load[i] / LOAD_UNIT_N;
        right[AXES + i] -= moment / LOAD_UNIT_N;
    }
}

static void put_equations(Program *p)
{
    const uint32_t n = (uint32_t)p->structure->bricks;
    const uint8_t *loose = p->task->loose;
    for (uint32_t i = 0; i < n; i++) {
        if (leader_of(p->task, i) != i) continue;
        p->row_of[i] = loose[i] ? -1 : p->rows;
        p->rows += loose[i] ? 0 : BLOCK;
    }
    for (uint32_t i = 0; i < n; i++) {
        p->row_of[i] = p->row_of[leader_of(p->task, i)];
        if (!loose[i]) put_load(p, i);
    }
    for (int i = 0; i < p->rows; i++) p->row_high[i] = p->row_low[i];
}

static Status program_init(Program *p, Fault *fault)
{
    const Structure *t = p->structure;
    const size_t joints = structure_joints(t, p->bearing);
    const Status status = program_room(p, fault);
    if (status) return status;
    put_equations(p);
    const int singles = p->rows;
    for (size_t i = 0; i < joints; i++) {
        if (!counts(p->task, &t->joint[i]) || !joint_is_single(&t->joint[i])) continue;
        for (int k = 0; k < 2; k++, p->rows++) p->row_low[p->rows] = -UNLIMITED;
    }
    double *sum = memory_create((size_t)p->rows, sizeof *sum);
    if (!sum) return memory_fault(fault, (size_t)p->rows, sizeof *sum);
    put_use(p, singles, sum);
    memory_free(sum);
    int single = singles;
    for (size_t i = 0; i < joints; i++) {
        if (!counts(p->task, &t->joint[i])) continue;
        put_joint(p, &t->joint[i], single);
        single += joint_is_single(&t->joint[i]) ? 2 : 0;
    }
    for (size_t i = 0; i < p->bearing->supports; i++) {
        const Support *support = &p->bearing->support[i];
        for (int axis = 0; axis < AXES; axis++) {
            if (!support->held[axis]) continue;
            put_force(p, support->brick, support->at, axis, 1);
            end_column(p, -UNLIMITED, UNLIMITED);
        }
    }
    return STATUS_OK;
}

static void program_clear(Program *p)
{
    memory_free(p->row_of);
    memory_free(p->start);
    memory_free(p->index);
    memory_free(p->value);
    memory_free(p->low);
    memory_free(p->high);
    memory_free(p->goal);
    memory_free(p->row_low);
    memory_free(p->row_high);
}

/* ---- solving ---- */

/* What the solver's process hands back. */
typedef struct Answer {
    double use;
    double velocity[]; /* rows */
} Answer;

typedef struct Solving {
    const Program *program;
    Answer *answer; /* shared with the process that solves */
} Solving;

static Status solve_alone(void *context, const Voice *voice, Fault *fault)
{
    const Solving *s = context;
    const Program *p = s->program;
    (void)voice;
    Clp_Simplex *clp = Clp_newModel();
    Clp_setLogLevel(clp, 0);
    Clp_loadProblem(clp, p->columns, p->rows, p->start, p->index, p->value, p->low, p->high,
                    p->goal, p->row_low, p->row_high);
    Clp_initialPrimalSolve(clp);
    Clp_scaling(clp, 0);
    Clp_primal(clp, 0);
    const bool optimal = Clp_status(clp) == 0;
    s->answer->use = Clp_objectiveValue(clp) * LOAD_UNIT_N;
    memcpy(s->answer->velocity, Clp_dualRowSolution(clp), (size_t)p->rows * sizeof(double));
    Clp_deleteModel(clp);
    if (optimal) return STATUS_OK;
    return fault_set(fault, STATUS_INTERNAL,
                     "forces: the linear program of a panel has no optimum; please report it");
}

/* How fast a joint opens at its middle, along u. */
static double opening(const Program *p, const Answer *a, const Joint *j)
{
    const uint32_t side[2] = {j->upper, j->lower};
    double speed = 0;
    for (int k = 0; k < 2; k++) {
        if (side[k] == GROUND) continue;
        double arm[AXES];
        const double *v = a->velocity + p->row_of[side[k]];
        structure_arm(p->structure, leader_of(p->task, side[k]), j->at, arm);
        speed += (k ? -1 : 1) * (v[2] + v[3] * arm[1] - v[4] * arm[0]);
    }
    return speed;
}

static void read_mechanism(const Program *p, const Answer *a, LeastUse *least)
{
    const Structure *t = p->structure;
    double fastest = 0, most = 0;
    for (int i = 0; i < p->rows; i++) fastest = fmax(fastest, fabs(a->velocity[i]));
    for (size_t i = 0; i < t->bricks; i++) {
        bool moves = false;
        for (int k = 0; k < BLOCK && p->row_of[i] >= 0; k++)
            moves |= fabs(a->velocity[p->row_of[i] + k]) > MOVES_LEAST * fastest;
        least->moving += moves;
    }
    for (size_t i = 0; i < structure_joints(t, p->bearing); i++) {
        if (!counts(p->task, &t->joint[i])) continue;
        const double share = t->joint[i].pull_n * fabs(opening(p, a, &t->joint[i]));
        if (share <= most * (1 + MOVES_LEAST)) continue;
        most = share;
        least->joint = (uint32_t)i;
    }
}

static Status solve_program(const Program *p, LeastUse *least, const Voice *voice, Fault *fault)
{
    const size_t size = sizeof(Answer) + (size_t)p->rows * sizeof(double);
    Answer *answer = mmap(NULL, size, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    if (answer == MAP_FAILED) return memory_fault(fault, size, 1);
    Solving solving = {p, answer};
    const Status status = apart_run("forces", solve_alone, &solving, voice, fault);
    if (!status) {
        least->use = answer->use;
        read_mechanism(p, answer, least);
    }
    munmap(answer, size);
    return status;
}

Status least_use_find(LeastUse *least_out, const LeastUseTask *task, const Voice *voice,
                      Fault *fault)
{
    *least_out = (LeastUse){.joint = GROUND};
    Program p = {.task = task, .structure = task->structure, .bearing = task->bearing};
    Status status = program_init(&p, fault);
    if (!status) status = solve_program(&p, least_out, voice, fault);
    program_clear(&p);
    return status;
}
