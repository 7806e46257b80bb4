/* Idea. A case says which way a panel's weight acts; a bearing is points at which bricks are held.
 * A panel that lies on lines is kept in its place along them at two points, which takes no force
 * from its own weight.
 *
 * Invariants. Supports hold both ways: a panel is strapped where it lies. */
#include "clutch/borne.h"

#include <stdlib.h>

/* Columns under each end of a panel that hands or slings take hold of; our choice. */
enum { LIFT_COLUMNS = 4 };

BearingKind load_case_bearing(LoadCase load_case, Build build)
{
    switch (load_case) {
    case CASE_CARRIED:
        return BORNE_AT_ENDS;
    case CASE_COURSES:
        return BORNE_AT_COURSES;
    case CASE_LIFTED:
        return BORNE_AT_CORNERS;
    case CASE_HUNG:
        return BORNE_AT_TOP;
    case CASE_QUARTERS:
        return BORNE_AT_QUARTERS;
    case CASE_CRATE:
        return build == BUILD_WALL ? BORNE_AT_BACK : BORNE_BELOW;
    default:
        return BORNE_BELOW;
    }
}

Demand load_case_demand(LoadCase load_case, double crate_g)
{
    switch (load_case) {
    case CASE_HANGING:
    case CASE_CARRIED:
    case CASE_COURSES:
        return (Demand){.ways = 1, .way = {{0, -1, 0}}};
    case CASE_SIDE:
        return (Demand){.ways = 2, .way = {{1, 0, 0}, {-1, 0, 0}}};
    case CASE_TIPPED:
        return (Demand){.ways = 2, .way = {{0, 1, 0}, {0, -1, 0}}};
    case CASE_FACE_DOWN:
        return (Demand){.ways = 1, .way = {{0, 0, 1}}};
    case CASE_CRATE:
        return (Demand){.any_way = crate_g};
    default:
        return (Demand){.ways = 1, .way = {{0, 0, -1}}};
    }
}

/* ---- bearings ---- */

typedef struct Placing {
    const Structure *structure;
    int columns, top; /* the highest layer */
    Bearing *bearing;
    Fault *fault;
} Placing;

/* Holds a brick at its middle, moved to `a` (units, -1: left there), to its back and up by so many
 * layers. */
static Status hold_at(Placing *p, size_t brick, double a, bool back, double up,
                      const bool held[AXES])
{
    const JointModel *model = &p->structure->model;
    Support s = {(uint32_t)brick, {0}, {held[0], held[1], held[2]}};
    structure_middle(p->structure, s.brick, s.at);
    if (a >= 0) s.at[AXIS_A] = a * model->pitch_mm;
    if (back) s.at[AXIS_B] = p->structure->brick[brick].b * model->pitch_mm;
    s.at[AXIS_U] += up * model->layer_mm;
    return bearing_add(p->bearing, &s, p->fault);
}

static const bool along_a[AXES] = {true, false, false}, along_b[AXES] = {false, true, false},
                  along_u[AXES] = {false, false, true}, in_plane[AXES] = {true, false, true},
                  all_ways[AXES] = {true, true, true}, across[AXES] = {false, true, true};

/* Where a panel is held along b alone it is pinned at the first of its supports and steadied at
 * the farthest. */
static Status pin_in_place(Placing *p)
{
    const size_t n = p->bearing->supports;
    const Structure *t = p->structure;
    if (!n) return STATUS_OK;
    const uint32_t first = p->bearing->support[0].brick;
    uint32_t farthest = first;
    int most = -1;
    bool aside = true;
    for (size_t i = 0; i < n; i++) {
        const RigidBrick *k = &t->brick[p->bearing->support[i].brick], *f = &t->brick[first];
        const int da = abs(k->a - f->a), du = abs(k->u - f->u), d = da > du ? da : du;
        if (d <= most) continue;
        most = d;
        aside = da > du;
        farthest = p->bearing->support[i].brick;
    }
    Status status = hold_at(p, first, -1, false, 0, in_plane);
    if (!status && farthest != first)
        status = hold_at(p, farthest, -1, false, 0, aside ? along_u : along_a);
    return status;
}

/* Whether a stretch of units has the one a quarter or three quarters of the way along. */
static bool at_quarter(int from, int units, int all)
{
    const int first = all / 4, second = all - 1 - first;
    return (from <= first && first < from + units) || (from <= second && second < from + units);
}

/* What one brick is held at; false where it is not. */
static Status bear_brick(Placing *p, BearingKind kind, size_t i)
{
    const RigidBrick *k = &p->structure->brick[i];
    const bool left = k->a == 0, right = k->a + k->na == p->columns, low = k->u == 0,
               high = k->u == p->top;
    Status status = STATUS_OK;
    switch (kind) {
    case BORNE_AT_ENDS:
        if (k->b == 0 && left) status = hold_at(p, i, 0.5, true, 0, along_b);
        if (!status && k->b == 0 && right)
            status = hold_at(p, i, p->columns - 0.5, true, 0, along_b);
        return status;
    case BORNE_AT_COURSES:
        return k->b == 0 && (low || high) ? hold_at(p, i, -1, true, 0, along_b) : STATUS_OK;
    case BORNE_AT_CORNERS:
        if (low && (k->a < LIFT_COLUMNS || k->a + k->na > p->columns - LIFT_COLUMNS))
            status = hold_at(p, i, -1, false, -0.5, p->bearing->supports ? across : all_ways);
        return status || !high ? status : hold_at(p, i, -1, false, 0.5, along_b);
    case BORNE_AT_BACK:
        return k->b == 0 ? hold_at(p, i, -1, true, 0, along_b) : STATUS_OK;
    case BORNE_AT_TOP:
        if (high) status = hold_at(p, i, -1, false, 0, all_ways);
        return status || !high ? status : hold_at(p, i, -1, false, 0.5, along_b);
    case BORNE_AT_QUARTERS:
        return k->b == 0 && at_quarter(k->a, k->na, p->columns) && at_quarter(k->u, 1, p->top + 1)
                   ? hold_at(p, i, -1, false, 0, all_ways)
                   : STATUS_OK;
    default:
        return STATUS_OK;
    }
}

Status load_case_bear(BearingKind kind, const Structure *structure, int columns,
                      Bearing *bearing_out, Fault *fault)
{
    *bearing_out = (Bearing){.footing = kind == BORNE_BELOW || kind == BORNE_AT_BACK};
    Placing p = {.structure = structure,
                 .columns = columns,
                 .top = structure->bricks ? structure->brick[structure->bricks - 1].u : 0,
                 .bearing = bearing_out,
                 .fault = fault};
    Status status = STATUS_OK;
    for (size_t i = 0; i < structure->bricks && !status; i++) status = bear_brick(&p, kind, i);
    if (!status && (kind == BORNE_AT_ENDS || kind == BORNE_AT_COURSES)) status = pin_in_place(&p);
    return status;
}
