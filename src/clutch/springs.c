/* Idea. Let B put the forces of joints on bricks, six equations a brick, moments over the pitch.
 * With stiffnesses W, K = B W B' is symmetric and positive definite where every brick hangs on what
 * bears it; K v = -load gives velocities v, and W B' v balances the load. Each kind of force is as
 * stiff as its capacity squared, so that forces go where they can be borne: springs minimise the
 * sum of squared shares.
 *
 * Invariants. Bricks that nothing bears have an equation of their own, so that K stays regular, and
 * are told by `loose`; loads on them are left out. Sums run in the order of joints.
 *
 * Source. Safe theorem: A. A. Gvozdev 1936; D. C. Drucker, W. Prager, H. J. Greenberg, Quarterly of
 * Applied Mathematics 9 (1952), from memory. */
#include "clutch/springs.h"

#include "base/memory.h"
#include "clutch/minimum_degree.h"

#include <math.h>
#include <string.h>

/* Shear and twist are free on two knobs and more: so much stiffer than pull. Of a wall of 1431
 * bricks 3 to 300 change the use by 5 per cent. */
#define SHEAR_STIFFER 10.0
/* Joints taken between two looks for a stop, which then comes within a millisecond. */
enum { JOINTS_UNHEARD = 256 };
/* Where something can swing freely, which its load must not ask for, stiffness that keeps it from
 * going astray; it bears less than 1e-9 of what a single knob does. */
#define STEADY 1e-9
/* N, as if a support held so much; it gives less than any joint. */
#define SUPPORT_N 100.0

/* ---- who is borne ---- */

/* Spreads from what is borne to all that is joined to it. */
static void find_loose(Springs *s)
{
    const Structure *t = s->structure;
    memset(s->loose, 1, t->bricks);
    s->loose_bricks = 0;
    for (size_t i = t->inner; i < s->joints; i++) s->loose[t->joint[i].upper] = 0;
    for (size_t i = 0; i < s->bearing->supports; i++) s->loose[s->bearing->support[i].brick] = 0;
    for (bool spreads = true; spreads;) {
        spreads = false;
        for (size_t i = 0; i < t->inner; i++) {
            const Joint *j = &t->joint[i];
            if (s->loose[j->lower] == s->loose[j->upper]) continue;
            s->loose[j->lower] = s->loose[j->upper] = 0;
            spreads = true;
        }
        for (size_t i = t->inner; i-- > 0;) {
            const Joint *j = &t->joint[i];
            if (s->loose[j->lower] == s->loose[j->upper]) continue;
            s->loose[j->lower] = s->loose[j->upper] = 0;
            spreads = true;
        }
    }
    for (size_t i = 0; i < t->bricks; i++) s->loose_bricks += s->loose[i];
}

static void find_arms(Springs *s)
{
    for (size_t i = 0; i < s->structure->joints; i++) {
        const Joint *j = &s->structure->joint[i];
        structure_arm(s->structure, j->upper, j->at, s->arm[i][0]);
        if (j->lower != GROUND) structure_arm(s->structure, j->lower, j->at, s->arm[i][1]);
    }
}

Status springs_init(Springs *springs_out, const Structure *structure, const Voice *voice,
                    Fault *fault)
{
    Springs *s = springs_out;
    const size_t n = structure->bricks, inner = structure->inner;
    *s = (Springs){.structure = structure,
                   .voice = voice,
                   .loose = memory_create(n, 1),
                   .pair = memory_create(inner, sizeof *s->pair),
                   .diagonal = memory_create(n, BLOCK_SQUARE * sizeof *s->diagonal),
                   .off = memory_create(inner, BLOCK_SQUARE * sizeof *s->off),
                   .stiffness = memory_create(structure->joints, FORCES * sizeof *s->stiffness),
                   .arm = memory_create(structure->joints, sizeof *s->arm),
                   .load = memory_create(n, BLOCK * sizeof *s->load),
                   .moved = memory_create(n, BLOCK * sizeof *s->moved),
                   .left = memory_create(n, BLOCK * sizeof *s->left)};
    uint32_t *order = memory_create(n, sizeof *order);
    Status status = STATUS_OK;
    if (!s->loose || !s->pair || !s->diagonal || !s->off || !s->stiffness || !s->arm || !s->load ||
        !s->moved || !s->left || !order)
        status = memory_fault(fault, n, BLOCK * sizeof *s->load);
    if (!status) {
        find_arms(s);
        for (size_t i = 0; i < inner; i++)
            s->pair[i] = (BlockPair){structure->joint[i].lower, structure->joint[i].upper};
        status = minimum_degree_order(structure, order, voice, fault);
    }
    const BlockSystem system = {(uint32_t)n, order, s->pair, inner, voice};
    if (!status) status = block_cholesky_init(&s->factor, &system, fault);
    memory_free(order);
    return status;
}

void springs_bear(Springs *s, const Bearing *bearing)
{
    s->bearing = bearing;
    s->joints = structure_joints(s->structure, bearing);
    find_loose(s);
}

void springs_clear(Springs *s)
{
    memory_free(s->loose);
    memory_free(s->pair);
    memory_free(s->diagonal);
    memory_free(s->off);
    memory_free(s->stiffness);
    memory_free(s->arm);
    memory_free(s->load);
    memory_free(s->moved);
    memory_free(s->left);
    block_cholesky_clear(&s->factor);
    *s = (Springs){0};
}

/* ---- the matrix ---- */

/* What six forces at the arm's end are on the brick, column by column: themselves, and their
 * moments. */
static void place_forces(const double arm[AXES], double to[BLOCK_SQUARE])
{
    memset(to, 0, BLOCK_SQUARE * sizeof *to);
    for (int i = 0; i < BLOCK; i++) to[i * BLOCK + i] = 1;
    to[0 * BLOCK + 4] = arm[2];
    to[0 * BLOCK + 5] = -arm[1];
    to[1 * BLOCK + 3] = -arm[2];
    to[1 * BLOCK + 5] = arm[0];
    to[2 * BLOCK + 3] = arm[1];
    to[2 * BLOCK + 4] = -arm[0];
}

/* sum += sign * g W h'. */
static void add_spring(double *sum, double sign, const double *g, const double *stiffness,
                       const double *h)
{
    for (int k = 0; k < BLOCK; k++)
        for (int c = 0; c < BLOCK; c++) {
            const double by = sign * stiffness[k] * h[k * BLOCK + c];
            if (by == 0) continue;
            for (int r = 0; r < BLOCK; r++) sum[c * BLOCK + r] += g[k * BLOCK + r] * by;
        }
}

static void stiffness_of(const Joint *j, double factor, double out[FORCES])
{
    const double shear = SHEAR_STIFFER * j->pull_n;
    const bool single = joint_is_single(j);
    const double hold[FORCES] = {shear,
                                 shear,
                                 j->pull_n,
                                 0.5 * j->nb * j->pull_n,
                                 0.5 * j->na * j->pull_n,
                                 single ? KNOB_RADIUS * j->pull_n
                                        : shear * (j->na > j->nb ? j->na : j->nb)};
    for (int i = 0; i < FORCES; i++) {
        const bool is_free = i < 2 || (i == 5 && !single);
        out[i] = (is_free ? 1 : factor) * hold[i] * hold[i];
    }
}

static void add_joint_spring(Springs *s, size_t i, double factor)
{
    const Structure *t = s->structure;
    const Joint *j = &t->joint[i];
    double upper[BLOCK_SQUARE], lower[BLOCK_SQUARE];
    double *w = s->stiffness + i * FORCES;
    stiffness_of(j, factor, w);
    place_forces(s->arm[i][0], upper);
    add_spring(s->diagonal + (size_t)j->upper * BLOCK_SQUARE, 1, upper, w, upper);
    if (j->lower == GROUND) return;
    place_forces(s->arm[i][1], lower);
    add_spring(s->diagonal + (size_t)j->lower * BLOCK_SQUARE, 1, lower, w, lower);
    add_spring(s->off + i * BLOCK_SQUARE, -1, upper, w, lower);
}

static void add_support_spring(Springs *s, const Support *support)
{
    double arm[AXES], to[BLOCK_SQUARE], w[FORCES] = {0};
    structure_arm(s->structure, support->brick, support->at, arm);
    place_forces(arm, to);
    for (int i = 0; i < AXES; i++) w[i] = support->held[i] ? SUPPORT_N * SUPPORT_N : 0;
    add_spring(s->diagonal + (size_t)support->brick * BLOCK_SQUARE, 1, to, w, to);
}

/* Gives what is loose equations of its own, and all else a little. */
static void steady(Springs *s, double stiffness)
{
    for (size_t i = 0; i < s->structure->bricks; i++)
        for (int k = 0; k < BLOCK; k++)
            s->diagonal[i * BLOCK_SQUARE + (size_t)(k * BLOCK + k)] += s->loose[i] ? 1 : stiffness;
}

static Status unless_stopped(const Springs *s, Fault *fault)
{
    if (!voice_stopped(s->voice)) return STATUS_OK;
    return structure_stopped(fault);
}

Status springs_set(Springs *s, const double *factor, Fault *fault)
{
    const Structure *t = s->structure;
    memset(s->diagonal, 0, t->bricks * BLOCK_SQUARE * sizeof *s->diagonal);
    memset(s->off, 0, t->inner * BLOCK_SQUARE * sizeof *s->off);
    for (size_t i = 0; i < s->joints; i++) {
        if (i % JOINTS_UNHEARD == 0 && voice_stopped(s->voice)) return structure_stopped(fault);
        add_joint_spring(s, i, factor ? factor[i] : 1);
    }
    for (size_t i = 0; i < s->bearing->supports; i++)
        add_support_spring(s, &s->bearing->support[i]);
    steady(s, 0);
    if (block_cholesky_factor(&s->factor, s->diagonal, s->pair, s->off, t->inner, s->voice))
        return unless_stopped(s, fault);
    steady(s, STEADY);
    if (block_cholesky_factor(&s->factor, s->diagonal, s->pair, s->off, t->inner, s->voice))
        return unless_stopped(s, fault);
    return fault_set(fault, STATUS_INTERNAL,
                     "forces: a panel's equations are not definite; please report it");
}

/* ---- loads ---- */

void springs_unload(Springs *s)
{
    memset(s->load, 0, s->structure->bricks * BLOCK * sizeof *s->load);
    s->lanes = 0;
}

void springs_poke_begin(Springs *s)
{
    block_cholesky_begin(&s->factor);
    s->lanes = 0;
}

void springs_poke(Springs *s, int lane, uint32_t brick, const double at[AXES], int axis,
                  double newtons)
{
    double arm[AXES], to[BLOCK_SQUARE];
    Lanes *right = block_cholesky_right(&s->factor, brick);
    if (lane >= s->lanes) s->lanes = lane + 1;
    structure_arm(s->structure, brick, at, arm);
    place_forces(arm, to);
    for (int i = 0; i < BLOCK; i++) right[i][lane] -= newtons * to[axis * BLOCK + i];
}

void springs_poke_spread(Springs *s, Lanes *energy_out)
{
    block_cholesky_spread(&s->factor, energy_out);
}

void springs_poke_reach(Springs *s, uint32_t brick)
{
    memcpy(s->moved + (size_t)brick * BLOCK, block_cholesky_reach(&s->factor, brick),
           BLOCK * sizeof *s->moved);
}

void springs_weigh(Springs *s, int lane, int axis, double times)
{
    if (lane >= s->lanes) s->lanes = lane + 1;
    for (size_t i = 0; i < s->structure->bricks; i++)
        if (!s->loose[i])
            s->load[i * BLOCK + (size_t)axis][lane] +=
                times * GRAVITY_N_G * s->structure->brick[i].mass_g;
}

/* ---- forces ---- */

/* sum += sign * forces at the arm's end, on a brick. */
static void add_forces(Lanes *sum, double sign, const Lanes f[FORCES], const double arm[AXES])
{
    sum[0] += sign * f[0];
    sum[1] += sign * f[1];
    sum[2] += sign * f[2];
    sum[3] += sign * (f[3] + (f[2] * arm[1] - f[1] * arm[2]));
    sum[4] += sign * (f[4] + (f[0] * arm[2] - f[2] * arm[0]));
    sum[5] += sign * (f[5] + (f[1] * arm[0] - f[0] * arm[1]));
}

/* What supports do about what moves. */
INLINED void support_forces(const Springs *s, const Support *support, Lanes f[FORCES])
{
    double arm[AXES];
    structure_arm(s->structure, support->brick, support->at, arm);
    velocity_at(s->moved + (size_t)support->brick * BLOCK, arm, f);
    for (int k = 0; k < FORCES; k++)
        f[k] *= k < AXES && support->held[k] ? SUPPORT_N * SUPPORT_N : 0;
}

INLINED void add_support_forces(const Springs *s, Lanes *sum, const Support *support,
                                const Lanes f[FORCES])
{
    double arm[AXES];
    structure_arm(s->structure, support->brick, support->at, arm);
    add_forces(sum + (size_t)support->brick * BLOCK, 1, f, arm);
}

INLINED void add_joint_forces(const Springs *s, Lanes *sum, size_t joint, const Lanes f[FORCES])
{
    const Joint *j = &s->structure->joint[joint];
    add_forces(sum + (size_t)j->upper * BLOCK, 1, f, s->arm[joint][0]);
    if (j->lower != GROUND) add_forces(sum + (size_t)j->lower * BLOCK, -1, f, s->arm[joint][1]);
}

/* The loads and what the forces do about them: bricks x 6, nearly 0. */
static void balance(const Springs *s, Lanes *sum)
{
    memcpy(sum, s->load, s->structure->bricks * BLOCK * sizeof *sum);
    for (size_t i = 0; i < s->joints; i++) {
        Lanes f[FORCES];
        springs_forces(s, i, f);
        add_joint_forces(s, sum, i, f);
    }
    for (size_t i = 0; i < s->bearing->supports; i++) {
        Lanes f[FORCES];
        support_forces(s, &s->bearing->support[i], f);
        add_support_forces(s, sum, &s->bearing->support[i], f);
    }
}

void springs_solve(Springs *s, bool refined)
{
    const size_t n = s->structure->bricks * BLOCK;
    for (size_t i = 0; i < n; i++) s->moved[i] = -s->load[i];
    block_cholesky_solve(&s->factor, s->moved);
    if (!refined) return;
    Lanes *left = s->left;
    balance(s, left);
    for (size_t i = 0; i < n; i++) left[i] = -left[i];
    block_cholesky_solve(&s->factor, left);
    for (size_t i = 0; i < n; i++) s->moved[i] += left[i];
}

double springs_unbalanced(const Springs *s)
{
    const size_t n = s->structure->bricks * BLOCK;
    double most = 0;
    balance(s, s->left);
    for (size_t i = 0; i < n; i++)
        for (int lane = 0; lane < s->lanes && !s->loose[i / BLOCK]; lane++)
            most = fmax(most, fabs(s->left[i][lane]));
    return most;
}

/* ---- the nearest forces that balance ---- */

/* The loads and given forces. */
WIDEST static void add_given(const Springs *s, const Lanes *force, const Lanes *support, Lanes *sum)
{
    memcpy(sum, s->load, s->structure->bricks * BLOCK * sizeof *sum);
    for (size_t i = 0; i < s->joints; i++) add_joint_forces(s, sum, i, force + i * FORCES);
    for (size_t i = 0; i < s->bearing->supports; i++) {
        Lanes f[FORCES] = {{0}};
        memcpy(f, support + i * AXES, AXES * sizeof *f);
        add_support_forces(s, sum, &s->bearing->support[i], f);
    }
}

WIDEST static void add_moved(const Springs *s, Lanes *force, Lanes *support)
{
    for (size_t i = 0; i < s->joints; i++) {
        Lanes f[FORCES];
        springs_forces(s, i, f);
        for (int k = 0; k < FORCES; k++) force[i * FORCES + (size_t)k] += f[k];
    }
    for (size_t i = 0; i < s->bearing->supports; i++) {
        Lanes f[FORCES];
        support_forces(s, &s->bearing->support[i], f);
        for (int k = 0; k < AXES; k++) support[i * AXES + (size_t)k] += f[k];
    }
}

void springs_balance(Springs *s, Lanes *force, Lanes *support, Lanes *left_out)
{
    const size_t n = s->structure->bricks * BLOCK;
    add_given(s, force, support, s->left);
    for (size_t i = 0; i < n; i++) s->moved[i] = -s->left[i];
    block_cholesky_solve(&s->factor, s->moved);
    add_moved(s, force, support);
    add_given(s, force, support, s->left);
    *left_out = (Lanes){0};
    for (size_t i = 0; i < n; i++)
        for (int lane = 0; lane < s->lanes; lane++)
            (*left_out)[lane] = fmax((*left_out)[lane], fabs(s->left[i][lane]));
}
