/* Idea. Each panel's bricks are rigid, on springs as stiff as their joints hold much, squared; the
 * plan's shares are those of these springs wherever they are within the safety asked for, and no
 * more than these where they are above it. The equations are solved by conjugate gradients, which
 * have nothing in common with the factoring that the plan was made with. Each round is
 * preconditioned by a sweep from the outermost bricks to the sheet, or from a wall's top to its
 * foot, and one back, exact for stacks that touch no other: tall ones need thousands of rounds
 * without it.
 *
 * Six numbers of a brick: its velocity along a, b and u, which are column, row and tier in a plaque
 * and column, tier and course in a wall, and its turning about these. Lengths are in pitches, so
 * that a moment is in newtons.
 *
 * Source. Method of conjugate gradients: M. R. Hestenes, E. Stiefel, Journal of Research of the
 * National Bureau of Standards 49 (1952); the sweep, incomplete factors that keep all but the
 * diagonal: C. Pommerell, Solution of Large Unsymmetric Systems of Linear Equations, thesis, ETH
 * Zurich (1992), from memory; joints as the manual's "Forces" says. */
#include "check/check_forces.h"

#include "base/csv.h"
#include "base/memory.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A wall is borne in seven ways, and its equations take longer. */
enum { SIX = 6, THREE = 3, BRICKS_MOST = 2000, WALL_MOST = 500, ROUNDS_MOST = 10000 };

#define GROUND_BELOW UINT32_MAX
#define SHEAR 10.0       /* so much stiffer than pull */
#define KNOB 0.3         /* a knob's radius in pitches */
#define LEFT_OVER 1e-10  /* of the load, where a solution is good enough */
#define SUPPORT 100.0    /* N, what holds a wall's panel where it is borne */
#define SAME_SHARE 0.002 /* by so much of it a share may differ */
#define SAME_NUMBER 2e-6 /* and besides by rounding */

typedef struct Contact {
    uint32_t upper, lower; /* bricks of the panel; GROUND_BELOW */
    double arm[2][THREE];  /* from the middles of both to that of the contact */
    double na, nb, pull;   /* knobs along a and b; N, 0: a point at which the brick is held */
    double stiff[SIX];
} Contact;

typedef struct Member {
    uint32_t plot, block;
    int32_t layer; /* tier of a plaque, row of a wall */
} Member;

/* A panel under way. */
typedef struct Frame {
    PlanFacts *e;
    double narrow, wide, layer, crate, limit; /* layer: in pitches */
    size_t bricks, contacts, capacity;
    const Plot *plot;
    size_t supports;     /* contacts of them */
    const Block *pin[2]; /* bricks at which what lies on lines is kept in its place */
    unsigned pinned;     /* how the other is */
    const Block *block;
    const uint32_t *number; /* blocks: the place in the panel */
    const Member *member;   /* the panel's bricks, the lowest layers first */
    Contact *contact;       /* those of an upper brick follow each other, in the order of these */
    double *inverse;        /* bricks x 36: of each one's equations without those above it */
    double *load, *left, *way, *scaled, *answer; /* bricks x 6 */
    double *moved[THREE];                        /* the same: under weight along each axis */
    Fault *fault;
} Frame;

/* ---- contacts ---- */

/* A brick by its layers: u is its tier in a plaque and its course in a wall, b the other. */
typedef struct Box {
    int32_t a, b, u, na, nb;
} Box;

static Box box_of(const Frame *f, const Block *k)
{
    return f->e->wall ? (Box){k->column, k->tier, k->row - f->plot->row, k->columns, k->tiers}
                      : (Box){k->column, k->row, k->tier, k->columns, k->rows};
}

static void middle_of(const Frame *f, const Block *k, double out[THREE])
{
    const Box b = box_of(f, k);
    out[0] = b.a + 0.5 * b.na;
    out[1] = b.b + 0.5 * b.nb;
    out[2] = (b.u + 0.5) * f->layer;
}

static int32_t larger(int32_t a, int32_t b) { return a > b ? a : b; }
static int32_t lesser(int32_t a, int32_t b) { return a < b ? a : b; }

static void set_stiffness(Contact *c)
{
    const double shear = SHEAR * c->pull;
    const double twist = c->na * c->nb == 1 ? KNOB * c->pull : shear * fmax(c->na, c->nb);
    const double hold[SIX] = {shear, shear, c->pull, 0.5 * c->nb * c->pull, 0.5 * c->na * c->pull,
                              twist};
    for (int i = 0; i < SIX; i++) c->stiff[i] = hold[i] * hold[i];
}

static Status next_contact(Frame *f, Contact **out)
{
    const Status status =
        memory_grow(&f->contact, &f->capacity, f->contacts + 1, sizeof *f->contact, f->fault);
    if (!status) *out = &f->contact[f->contacts++];
    return status;
}

static void set_arm(const Frame *f, const Block *k, const double at[THREE], double arm[THREE])
{
    middle_of(f, k, arm);
    for (int i = 0; i < THREE; i++) arm[i] = at[i] - arm[i];
}

/* under: NULL, the sheet or the footing. */
static Status add_contact(Frame *f, const Block *upper, const Block *under)
{
    const Block *below = under ? under : upper;
    const Box top = box_of(f, upper), low = box_of(f, below);
    const int32_t left = larger(top.a, low.a), down = larger(top.b, low.b);
    const int32_t right = lesser(top.a + top.na, low.a + low.na);
    const int32_t up = lesser(top.b + top.nb, low.b + low.nb);
    const double at[THREE] = {0.5 * (left + right), 0.5 * (down + up), top.u * f->layer};
    Contact *c;
    const Status status = next_contact(f, &c);
    if (status) return status;
    *c = (Contact){.upper = f->number[upper - f->block],
                   .lower = under ? f->number[under - f->block] : GROUND_BELOW,
                   .na = right - left,
                   .nb = up - down};
    c->pull = c->na * c->nb * (lesser(top.na, top.nb) == 1 ? f->narrow : f->wide);
    set_arm(f, upper, at, c->arm[0]);
    set_arm(f, below, at, c->arm[1]);
    set_stiffness(c);
    return STATUS_OK;
}

/* What fills a unit of the layer below; NULL: the sheet, or nothing. */
static const Block *under_unit(const Frame *f, const Block *k, int column, int across)
{
    const uint32_t *owner = f->e->wall ? plan_facts_unit(f->e, column, k->row - 1, across)
                                       : plan_facts_unit(f->e, column, across, k->tier - 1);
    return *owner ? &f->block[*owner - 1] : NULL;
}

/* A brick's contacts with those below, each found at its first unit over them. */
static Status add_contacts(Frame *f, const Block *k, bool footing)
{
    const Box box = box_of(f, k);
    if (box.u == 0) return footing ? add_contact(f, k, NULL) : STATUS_OK;
    for (int across = box.b; across < box.b + box.nb; across++)
        for (int column = box.a; column < box.a + box.na; column++) {
            const Block *under = under_unit(f, k, column, across);
            if (!under) continue;
            const Box low = box_of(f, under);
            if (column != larger(box.a, low.a) || across != larger(box.b, low.b)) continue;
            const Status status = add_contact(f, k, under);
            if (status) return status;
        }
    return STATUS_OK;
}

/* ---- how a wall's panel is borne ---- */

enum { HELD_A = 1, HELD_B = 2, HELD_U = 4, HELD = HELD_A | HELD_B | HELD_U, LIFTED = 4 };

typedef enum Borne { BELOW, AT_ENDS, AT_CORNERS, AT_BACK, AT_COURSES, AT_TOP, AT_QUARTERS } Borne;

/* Holds a brick along the axes of `held`: at its middle, or at `a` (below 0: its own middle), at
 * its back, so many layers up. */
static Status hold_brick(Frame *f, const Block *k, unsigned held, double a, bool back, double up)
{
    Contact *c;
    double at[THREE];
    const Status status = next_contact(f, &c);
    if (status) return status;
    f->supports++;
    middle_of(f, k, at);
    if (a >= 0) at[0] = f->plot->column + a;
    if (back) at[1] = k->tier;
    at[2] += up * f->layer;
    *c = (Contact){.upper = f->number[k - f->block], .lower = GROUND_BELOW};
    set_arm(f, k, at, c->arm[0]);
    for (int i = 0; i < THREE; i++) c->stiff[i] = held >> i & 1 ? SUPPORT * SUPPORT : 0;
    return STATUS_OK;
}

static bool at_quarters(int from, int units, int all)
{
    const int first = all / 4, last = all - 1 - first;
    return (from <= first && first < from + units) || (from <= last && last < from + units);
}

/* Lies on a line: of the ends of its courses, or of the first and the last. */
static bool on_line(const Frame *f, Borne borne, const Block *k)
{
    const int a = k->column - f->plot->column, u = k->row - f->plot->row;
    if (k->tier != 0) return false;
    return borne == AT_ENDS ? a == 0 || a + k->columns == f->plot->columns
                            : borne == AT_COURSES && (u == 0 || u == f->plot->rows - 1);
}

static Status pin_block(Frame *f, const Block *k)
{
    Status status = STATUS_OK;
    if (k == f->pin[0]) status = hold_brick(f, k, HELD_A | HELD_U, -1, false, 0);
    if (k == f->pin[1] && !status) status = hold_brick(f, k, f->pinned, -1, false, 0);
    return status;
}

static Status bear_block(Frame *f, Borne borne, const Block *k)
{
    const bool first = f->supports == 0;
    const int a = k->column - f->plot->column, columns = f->plot->columns;
    const int u = k->row - f->plot->row, rows = f->plot->rows;
    const bool back = k->tier == 0, low = u == 0, high = u == rows - 1;
    const bool left = a == 0, right = a + k->columns == columns;
    Status status = STATUS_OK;
    if (borne == AT_ENDS && back && left) status = hold_brick(f, k, HELD_B, 0.5, true, 0);
    if (borne == AT_ENDS && back && right && !status)
        status = hold_brick(f, k, HELD_B, columns - 0.5, true, 0);
    if (borne == AT_BACK && back) status = hold_brick(f, k, HELD_B, -1, true, 0);
    if (borne == AT_COURSES && back && (low || high))
        status = hold_brick(f, k, HELD_B, -1, true, 0);
    if (borne == AT_CORNERS && low && (a < LIFTED || a + k->columns > columns - LIFTED))
        status = hold_brick(f, k, first ? HELD : HELD_B | HELD_U, -1, false, -0.5);
    if (borne == AT_TOP && high) status = hold_brick(f, k, HELD, -1, false, 0);
    if ((borne == AT_CORNERS || borne == AT_TOP) && high && !status)
        status = hold_brick(f, k, HELD_B, -1, false, 0.5);
    if (borne == AT_QUARTERS && back && at_quarters(a, k->columns, columns) &&
        at_quarters(u, 1, rows))
        status = hold_brick(f, k, HELD, -1, false, 0);
    return status;
}

/* What lies on lines is kept in its place along them: at the first of its bricks both ways, at the
 * farthest one way. */
static void find_pins(Frame *f, Borne borne)
{
    int most = 0;
    f->pin[0] = f->pin[1] = NULL;
    for (size_t i = 0; i < f->bricks; i++) {
        const Block *k = &f->block[f->member[i].block], *first = f->pin[0];
        if (!on_line(f, borne, k)) continue;
        if (!first) f->pin[0] = first = k;
        const int da = abs(k->column - first->column), du = abs(k->row - first->row);
        if (larger(da, du) <= most) continue;
        most = larger(da, du);
        f->pinned = da > du ? HELD_U : HELD_A;
        f->pin[1] = k;
    }
}

/* All contacts and supports, brick by brick. */
static Status bear(Frame *f, Borne borne)
{
    const bool footing = borne == BELOW || borne == AT_BACK;
    Status status = STATUS_OK;
    f->contacts = f->supports = 0;
    find_pins(f, borne);
    for (size_t i = 0; i < f->bricks && !status; i++) {
        const Block *k = &f->block[f->member[i].block];
        status = add_contacts(f, k, footing);
        if (!status && borne != BELOW) status = bear_block(f, borne, k);
        if (!status) status = pin_block(f, k);
    }
    return status;
}

/* ---- springs ---- */

/* Adds by times what six numbers of a brick are at an arm's end. */
static void add_velocity(const double v[SIX], const double arm[THREE], double by, double out[SIX])
{
    out[0] += by * (v[0] + v[4] * arm[2] - v[5] * arm[1]);
    out[1] += by * (v[1] + v[5] * arm[0] - v[3] * arm[2]);
    out[2] += by * (v[2] + v[3] * arm[1] - v[4] * arm[0]);
    for (int i = THREE; i < SIX; i++) out[i] += by * v[i];
}

static void add_force(const double f[SIX], const double arm[THREE], double by, double out[SIX])
{
    for (int i = 0; i < SIX; i++) out[i] += by * f[i];
    out[3] += by * (arm[1] * f[2] - arm[2] * f[1]);
    out[4] += by * (arm[2] * f[0] - arm[0] * f[2]);
    out[5] += by * (arm[0] * f[1] - arm[1] * f[0]);
}

static void contact_force(const Contact *c, const double *v, double out[SIX])
{
    memset(out, 0, SIX * sizeof *out);
    add_velocity(v + (size_t)c->upper * SIX, c->arm[0], 1, out);
    if (c->lower != GROUND_BELOW) add_velocity(v + (size_t)c->lower * SIX, c->arm[1], -1, out);
    for (int i = 0; i < SIX; i++) out[i] *= c->stiff[i];
}

static void resist(const Frame *f, const double *v, double *out)
{
    memset(out, 0, f->bricks * SIX * sizeof *out);
    for (size_t i = 0; i < f->contacts; i++) {
        const Contact *c = &f->contact[i];
        double force[SIX];
        contact_force(c, v, force);
        add_force(force, c->arm[0], 1, out + (size_t)c->upper * SIX);
        if (c->lower != GROUND_BELOW) add_force(force, c->arm[1], -1, out + (size_t)c->lower * SIX);
    }
}

/* ---- the sweep ---- */

/* Inverts equations of a brick, column by column, by elimination in place. They are symmetric;
 * false where they are not definite. */
static bool invert_own(double m[SIX * SIX])
{
    for (int k = 0; k < SIX; k++) {
        if (!(m[k * SIX + k] > 0)) return false;
        const double pivot = 1 / m[k * SIX + k];
        m[k * SIX + k] = 1;
        for (int j = 0; j < SIX; j++) m[k * SIX + j] *= pivot;
        for (int i = 0; i < SIX; i++) {
            if (i == k) continue;
            const double by = m[i * SIX + k];
            m[i * SIX + k] = 0;
            for (int j = 0; j < SIX; j++) m[i * SIX + j] -= by * m[k * SIX + j];
        }
    }
    return true;
}

static void multiply(const double m[SIX * SIX], const double v[SIX], double out[SIX])
{
    for (int i = 0; i < SIX; i++) {
        out[i] = 0;
        for (int k = 0; k < SIX; k++) out[i] += m[i * SIX + k] * v[k];
    }
}

/* What a contact's force is where one of its bricks alone moves, at the other; sides 0 and 1. */
static void carry_over(const Contact *c, int from, const double v[SIX], double by, double out[SIX])
{
    double force[SIX] = {0};
    add_velocity(v, c->arm[from], 1, force);
    for (int i = 0; i < SIX; i++) force[i] *= c->stiff[i];
    add_force(force, c->arm[1 - from], by, out);
}

static void add_own(Frame *f, const Contact *c, int side)
{
    const uint32_t brick = side ? c->lower : c->upper;
    for (int k = 0; k < SIX && brick != GROUND_BELOW; k++) {
        double unit[SIX] = {0}, force[SIX] = {0};
        unit[k] = 1;
        add_velocity(unit, c->arm[side], 1, force);
        for (int j = 0; j < SIX; j++) force[j] *= c->stiff[j];
        add_force(force, c->arm[side], 1, f->inverse + ((size_t)brick * SIX + (size_t)k) * SIX);
    }
}

/* The brick above is taken out of the equations of the one below. */
static void take_out(Frame *f, const Contact *c)
{
    if (c->lower == GROUND_BELOW) return;
    for (int k = 0; k < SIX; k++) {
        double unit[SIX] = {0}, up[SIX] = {0}, moved[SIX];
        unit[k] = 1;
        carry_over(c, 1, unit, 1, up);
        multiply(f->inverse + (size_t)c->upper * SIX * SIX, up, moved);
        carry_over(c, 0, moved, -1, f->inverse + ((size_t)c->lower * SIX + (size_t)k) * SIX);
    }
}

static double dot(const double *a, const double *b, size_t n)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++) sum += a[i] * b[i];
    return sum;
}

/* As if nothing lay on it or under it that moves. */
static void invert_whole(Frame *f, uint32_t brick)
{
    double *m = f->inverse + (size_t)brick * SIX * SIX;
    memset(m, 0, SIX * SIX * sizeof *m);
    for (size_t i = 0; i < f->contacts; i++) {
        if (f->contact[i].upper == brick) add_own(f, &f->contact[i], 0);
        if (f->contact[i].lower == brick) add_own(f, &f->contact[i], 1);
    }
    invert_own(m);
}

/* A brick that lies on several is taken out of each alone. Where that leaves equations that are not
 * definite, those of the brick as a whole take their place. */
static void find_inverses(Frame *f)
{
    size_t c = f->contacts;
    memset(f->inverse, 0, f->bricks * SIX * SIX * sizeof *f->inverse);
    for (size_t i = 0; i < f->contacts; i++)
        for (int side = 0; side < 2; side++) add_own(f, &f->contact[i], side);
    for (size_t i = f->bricks; i-- > 0;) {
        if (!invert_own(f->inverse + i * SIX * SIX)) invert_whole(f, (uint32_t)i);
        for (; c > 0 && f->contact[c - 1].upper == i; c--) take_out(f, &f->contact[c - 1]);
    }
}

static void sweep_down(const Frame *f, double *left)
{
    size_t c = f->contacts;
    for (size_t i = f->bricks; i-- > 0;) {
        double *moved = f->scaled + i * SIX;
        multiply(f->inverse + i * SIX * SIX, left + i * SIX, moved);
        for (; c > 0 && f->contact[c - 1].upper == i; c--) {
            const Contact *on = &f->contact[c - 1];
            if (on->lower != GROUND_BELOW)
                carry_over(on, 0, moved, 1, left + (size_t)on->lower * SIX);
        }
    }
}

static void sweep_up(const Frame *f)
{
    for (size_t i = 0, c = 0; i < f->bricks; i++) {
        double carried[SIX] = {0}, moved[SIX];
        for (; c < f->contacts && f->contact[c].upper == i; c++) {
            const Contact *on = &f->contact[c];
            if (on->lower != GROUND_BELOW)
                carry_over(on, 1, f->scaled + (size_t)on->lower * SIX, 1, carried);
        }
        multiply(f->inverse + i * SIX * SIX, carried, moved);
        for (int k = 0; k < SIX; k++) f->scaled[i * SIX + (size_t)k] += moved[k];
    }
}

static double scale(const Frame *f)
{
    const size_t n = f->bricks * SIX;
    memcpy(f->answer, f->left, n * sizeof *f->answer);
    sweep_down(f, f->answer);
    sweep_up(f);
    return dot(f->scaled, f->left, n);
}

/* Moves bricks until the springs balance the load; false where that does not come to an end. */
static bool settle(const Frame *f, double *moved)
{
    const size_t n = f->bricks * SIX;
    const double enough = LEFT_OVER * LEFT_OVER * dot(f->load, f->load, n);
    for (size_t i = 0; i < n; i++) {
        moved[i] = 0;
        f->left[i] = -f->load[i];
    }
    double product = scale(f);
    memcpy(f->way, f->scaled, n * sizeof *f->way);
    for (int round = 0; round < ROUNDS_MOST && dot(f->left, f->left, n) > enough; round++) {
        if (voice_stopped(f->e->voice)) return false;
        resist(f, f->way, f->answer);
        const double step = product / dot(f->way, f->answer, n), before = product;
        for (size_t i = 0; i < n; i++) {
            moved[i] += step * f->way[i];
            f->left[i] -= step * f->answer[i];
        }
        product = scale(f);
        for (size_t i = 0; i < n; i++) f->way[i] = f->scaled[i] + product / before * f->way[i];
    }
    return dot(f->left, f->left, n) <= enough;
}

/* ---- shares ---- */

/* Of what a contact holds; g: how the three weights are added up. */
static double share_along(const Contact *c, double force[THREE][SIX], const double g[THREE])
{
    double f[SIX] = {0};
    for (int axis = 0; axis < THREE; axis++)
        for (int i = 0; i < SIX; i++) f[i] += g[axis] * force[axis][i];
    const double bent = fmax(2 * fabs(f[3]) / c->nb, 2 * fabs(f[4]) / c->na);
    const double pulled = fmax(0, bent - f[2]), twisted = fabs(f[5]) / KNOB;
    return (c->na * c->nb == 1 ? fmax(pulled, twisted) : pulled) / c->pull;
}

/* The largest over all ways of one g: each of these is linear in it. */
static double share_any_way(const Contact *c, double force[THREE][SIX])
{
    double most = 0, twist = 0;
    for (int side = 0; side < 4; side++) {
        const double by = (side & 1 ? 2 : -2) / (side & 2 ? c->nb : c->na);
        double square = 0;
        for (int axis = 0; axis < THREE; axis++) {
            const double slope = by * force[axis][side & 2 ? 3 : 4] - force[axis][2];
            square += slope * slope;
        }
        most = fmax(most, sqrt(square));
    }
    for (int axis = 0; axis < THREE; axis++) twist += force[axis][5] * force[axis][5];
    if (c->na * c->nb == 1) most = fmax(most, sqrt(twist) / KNOB);
    return most / c->pull;
}

/* The largest share of any contact under a weight of 1 g along a way; NULL: any way. */
static double largest_share(const Frame *f, const double way[THREE])
{
    double most = 0;
    for (size_t i = 0; i < f->contacts; i++) {
        const Contact *c = &f->contact[i];
        double force[THREE][SIX];
        if (!(c->pull > 0)) continue;
        for (int axis = 0; axis < THREE; axis++) contact_force(c, f->moved[axis], force[axis]);
        most = fmax(most, way ? share_along(c, force, way) : share_any_way(c, force));
    }
    return most;
}

/* What a brick holds against a push at the middle of its outward face, N; NAN: not found. */
static double find_hold(const Frame *f, uint32_t brick)
{
    const bool wall = f->e->wall;
    const int outward = wall ? 1 : 2;
    const double arm[THREE] = {0, wall ? 0.5 * f->block[f->member[brick].block].tiers : 0,
                               wall ? 0 : 0.5 * f->layer};
    double use = 0;
    for (int axis = 0; axis < THREE; axis++) {
        double push[SIX] = {0};
        push[axis] = 1;
        memset(f->load, 0, f->bricks * SIX * sizeof *f->load);
        add_force(push, arm, 1, f->load + (size_t)brick * SIX);
        if (!settle(f, f->moved[0])) return (double)NAN;
        for (size_t i = 0; i < f->contacts; i++) {
            const double ahead[THREE] = {1, 0, 0}, back[THREE] = {-1, 0, 0};
            double force[THREE][SIX] = {{0}};
            contact_force(&f->contact[i], f->moved[0], force[0]);
            use = fmax(use, share_along(&f->contact[i], force, ahead));
            if (axis != outward) use = fmax(use, share_along(&f->contact[i], force, back));
        }
    }
    return 1 / use;
}

/* ---- what the plan says ---- */

static void compare_share(const Frame *f, const char *name, double found)
{
    const Plot *plot = f->plot;
    const json_t *panels = json_object_get(f->e->plan, "panels");
    const json_t *said = json_object_get(json_array_get(panels, (size_t)(plot - f->e->plot)), name);
    if (!json_is_number(said)) return;
    const double off = SAME_SHARE * found + SAME_NUMBER, use = json_number_value(said);
    if (use <= found + off && (found > f->limit || use >= found - off)) return;
    verdict_broken(f->e->verdict, PROMISE_FORCES,
                   "plan.json: panels: %s: %s is %.6g, but by the bricks it is %s%.6g", plot->name,
                   name, use, found > f->limit ? "at most " : "", found);
}

static void compare_hold(const Frame *f)
{
    const Plot *plot = f->plot;
    const json_t *list = json_object_get(f->e->plan, "held_slightly"), *least = NULL;
    double newtons = INFINITY;
    for (size_t i = 0; i < json_array_size(list); i++) {
        const json_t *o = json_array_get(list, i), *panel = json_object_get(o, "panel");
        const double n = json_number_value(json_object_get(o, "hold_n"));
        if (!json_is_string(panel) || strcmp(json_string_value(panel), plot->name) != 0) continue;
        if (n < newtons) least = o;
        newtons = fmin(newtons, n);
    }
    for (uint32_t i = 0; i < f->bricks && least; i++) {
        const Block *b = &f->block[f->member[i].block];
        if (b->column + 1 != json_integer_value(json_object_get(least, "column")) ||
            b->row + 1 != json_integer_value(json_object_get(least, "row")) ||
            b->tier + 1 != json_integer_value(json_object_get(least, "tier")))
            continue;
        const double found = find_hold(f, i);
        if (isnan(found) || fabs(found - newtons) <= SAME_SHARE * found + SAME_NUMBER) return;
        verdict_broken(f->e->verdict, PROMISE_FORCES,
                       "plan.json: held_slightly: column %d, row %d, tier %d holds %.6g N, but by "
                       "the bricks %.6g",
                       b->column + 1, b->row + 1, b->tier + 1, newtons, found);
    }
}

static bool weigh(Frame *f)
{
    for (int axis = 0; axis < THREE; axis++) {
        memset(f->load, 0, f->bricks * SIX * sizeof *f->load);
        for (size_t i = 0; i < f->bricks; i++)
            f->load[i * SIX + (size_t)axis] =
                GRAVITY / 1000 * f->e->mass_g[f->block[f->member[i].block].format];
        if (!settle(f, f->moved[axis])) return false;
    }
    return true;
}

/* A load case: how the panel is borne, which ways its weight acts, and what the plan calls that. */
typedef struct Case {
    Borne borne;
    const char *name;
    int ways; /* 0: any way */
    double way[2][THREE];
} Case;

static const Case plaque_cases[] = {
    {BELOW, "use_hanging", 1, {{0, -1, 0}}},
    {BELOW, "use_side", 2, {{-1, 0, 0}, {1, 0, 0}}},
    {BELOW, "use_face_down", 1, {{0, 0, 1}}},
    {BELOW, "use_crate", 0, {{0}}},
};
/* Those that are borne alike are side by side. */
static const Case wall_cases[] = {
    {BELOW, "use_hanging", 1, {{0, 0, -1}}}, {BELOW, "use_tipped", 2, {{0, 1, 0}, {0, -1, 0}}},
    {AT_ENDS, "use_flat", 1, {{0, -1, 0}}},  {AT_CORNERS, "use_lifted", 1, {{0, 0, -1}}},
    {AT_BACK, "use_crate", 0, {{0}}},        {AT_COURSES, "use_courses", 1, {{0, -1, 0}}},
    {AT_TOP, "use_hung", 1, {{0, 0, -1}}},   {AT_QUARTERS, "use_quarters", 1, {{0, 0, -1}}},
};
enum {
    PLAQUE_CASES = sizeof plaque_cases / sizeof *plaque_cases,
    WALL_CASES = sizeof wall_cases / sizeof *wall_cases
};

static double case_share(const Frame *f, const Case *c)
{
    double most = c->ways ? 0 : f->crate * largest_share(f, NULL);
    for (int i = 0; i < c->ways; i++) most = fmax(most, largest_share(f, c->way[i]));
    return most;
}

/* Cases from `from` on that are borne alike. */
static Status take_cases(Frame *f, const Case *from, int count)
{
    const Status status = bear(f, from->borne);
    if (status) return status;
    find_inverses(f);
    if (weigh(f)) {
        for (int i = 0; i < count; i++) compare_share(f, from[i].name, case_share(f, &from[i]));
        if (from->borne == BELOW) compare_hold(f);
    } else
        voice_note(f->e->voice, "%s: panel %s: its forces could not be reckoned anew, %s",
                   f->e->folder, f->plot->name, from->name);
    if (voice_stopped(f->e->voice))
        return fault_set(f->fault, STATUS_INTERRUPTED, "check: stopped; run it again");
    return STATUS_OK;
}

/* A panel in pieces has a line of its own. */
static Status frame_plot(Frame *f, size_t plot)
{
    const Hold *hold = &f->e->hold[plot];
    const Case *cases = f->e->wall ? wall_cases : plaque_cases;
    const int count = f->e->wall ? WALL_CASES : PLAQUE_CASES;
    Status status = STATUS_OK;
    f->plot = &f->e->plot[plot];
    if (hold->pieces != 1 || hold->unsupported || !f->bricks) return STATUS_OK;
    for (int i = 0, end; i < count && !status; i = end) {
        for (end = i + 1; end < count && cases[end].borne == cases[i].borne;) end++;
        status = take_cases(f, &cases[i], end - i);
    }
    return status;
}

/* ---- all panels ---- */

static bool setting_number(const PlanFacts *e, const char *name, double *out)
{
    const json_t *said = json_object_get(json_object_get(e->plan, "settings"), name);
    return json_is_string(said) && number_parse(json_string_value(said), out) && *out > 0;
}

static bool read_settings(Frame *f)
{
    const json_t *said = json_object_get(json_object_get(f->e->plan, "settings"), "clutch");
    const char *text = json_is_string(said) ? json_string_value(said) : "";
    const char *comma = strchr(text, ',');
    char first[32];
    double safety;
    if (!comma || comma - text >= (int)sizeof first) return false;
    snprintf(first, sizeof first, "%.*s", (int)(comma - text), text);
    if (!number_parse(first, &f->narrow) || !number_parse(comma + 1, &f->wide)) return false;
    if (!setting_number(f->e, "crate-g", &f->crate)) return false;
    if (!setting_number(f->e, "hold-safety", &safety)) return false;
    f->limit = 1 / safety;
    f->layer = (f->e->wall ? f->e->cell_mm[1] : f->e->step_mm) / f->e->cell_mm[0];
    return f->narrow > 0 && f->wide > 0 && f->layer > 0;
}

static bool is_left(const PlanFacts *e)
{
    const int most = e->wall ? WALL_MOST : BRICKS_MOST;
    if ((!e->wall && !e->relief) || e->blocks <= (size_t)most) return false;
    voice_note(e->voice, "%s: forces of a %s are reckoned anew up to %d bricks, not for these %zu",
               e->folder, e->wall ? "wall" : "plaque", most, e->blocks);
    return true;
}

static void frame_clear(Frame *f)
{
    double *const room[] = {f->inverse, f->load,     f->left,     f->way,     f->scaled,
                            f->answer,  f->moved[0], f->moved[1], f->moved[2]};
    for (size_t i = 0; i < sizeof room / sizeof *room; i++) memory_free(room[i]);
    memory_free(f->contact);
}

static Status frame_room(Frame *f)
{
    const size_t n = f->e->blocks;
    double **const room[] = {&f->load,   &f->left,     &f->way,      &f->scaled,
                             &f->answer, &f->moved[0], &f->moved[1], &f->moved[2]};
    f->inverse = memory_create(n, SIX * SIX * sizeof *f->inverse);
    bool there = f->inverse;
    for (size_t i = 0; i < sizeof room / sizeof *room; i++) {
        *room[i] = memory_create(n, SIX * sizeof **room[i]);
        there = there && *room[i];
    }
    return there ? STATUS_OK : memory_fault(f->fault, n, SIX * SIX * sizeof *f->inverse);
}

static int by_place(const void *a, const void *b)
{
    const Member *x = a, *y = b;
    if (x->plot != y->plot) return x->plot < y->plot ? -1 : 1;
    if (x->layer != y->layer) return x->layer < y->layer ? -1 : 1;
    return (x->block > y->block) - (x->block < y->block);
}

/* Numbers blocks within their panels, the lowest tiers first. */
static void sort_members(const PlanFacts *e, Member *member, uint32_t *number)
{
    for (size_t i = 0; i < e->blocks; i++)
        member[i] =
            (Member){e->block[i].plot, (uint32_t)i, e->wall ? e->block[i].row : e->block[i].tier};
    qsort(member, e->blocks, sizeof *member, by_place);
    for (size_t i = 0, first = 0; i < e->blocks; i++) {
        if (member[i].plot != member[first].plot) first = i;
        number[member[i].block] = (uint32_t)(i - first);
    }
}

static Status take_plots(Frame *f, const Member *member)
{
    Status status = STATUS_OK;
    for (size_t first = 0; first < f->e->blocks && !status; first += f->bricks) {
        f->member = member + first;
        f->bricks = 1;
        while (first + f->bricks < f->e->blocks && f->member[f->bricks].plot == f->member->plot)
            f->bricks++;
        status = frame_plot(f, f->member->plot);
    }
    return status;
}

Status check_forces(PlanFacts *e, Fault *fault)
{
    Frame f = {.e = e, .block = e->block, .fault = fault};
    if (!e->sound || !e->weighed || !e->hold || !read_settings(&f) || is_left(e)) return STATUS_OK;
    uint32_t *number = memory_create(e->blocks, sizeof *number);
    Member *member = memory_create(e->blocks, sizeof *member);
    f.number = number;
    Status status =
        number && member ? frame_room(&f) : memory_fault(fault, e->blocks, sizeof *member);
    if (!status) {
        sort_members(e, member, number);
        status = take_plots(&f, member);
    }
    frame_clear(&f);
    memory_free(member);
    memory_free(number);
    return status;
}
