/* The bricks that carry what overhangs, placed greedily.
 *
 * Idea. Units that hang are taken one by one; for each, of all boxes of the brick set that hold
 * it and are allowed, the one that carries most units that still hang, then the smallest. What
 * is greedy depends on the order, so three are tried: from the face inward, left to right and
 * right to left; and from the wall outward. The first that carries most is taken.
 *
 * Invariants. A brick that is placed lies in the solid, shows one colour and is carried (see
 * may_lie). Bricks do not overlap: the units of one that is placed become HUE_NONE.
 *
 * Source. The rule of half a brick's units is statics: a body stands where the line of its weight
 * falls within what carries it. Corbels and lintels as masonry has them (corbel.h). */
#include "bricks/wall/corbel.h"

#include "base/memory.h"

#include <string.h>

enum { ORDERS = 3 };

/* Tiers of the deepest cell of a panel. */
static int deepest_of(const Solid *solid, const Panel *panel)
{
    int most = 0;
    for (int y = panel->row; y < panel->row + panel->rows; y++)
        for (int x = panel->column; x < panel->column + panel->columns; x++) {
            const int top = solid_top(solid, x, y);
            if (top > most) most = top;
        }
    return most;
}

Status corbel_init(Corbel *c, const Solid *solid, const Panel *panel, const Cuts *cuts,
                   Fault *fault)
{
    const bool wall = solid->build == BUILD_WALL;
    const int tiers = deepest_of(solid, panel);
    *c = (Corbel){.solid = solid,
                  .panel = panel,
                  .cuts = cuts,
                  .layers = wall ? panel->rows : tiers,
                  .depth = wall ? tiers : panel->rows};
    const size_t units = (size_t)c->depth * (size_t)panel->columns;
    c->hue = memory_create(units, sizeof *c->hue);
    if (c->hue) c->seen = memory_create(units, sizeof *c->seen);
    if (c->seen) c->held = memory_create(units, 1);
    if (c->held) c->hangs = memory_create(units, 1);
    if (c->hangs) c->fails = memory_create(units, 1);
    if (c->fails) return STATUS_OK;
    corbel_clear(c);
    return memory_fault(fault, units, sizeof *c->hue);
}

void corbel_clear(Corbel *c)
{
    memory_free(c->hue);
    memory_free(c->seen);
    memory_free(c->held);
    memory_free(c->hangs);
    memory_free(c->fails);
    course_clear(&c->trial);
    *c = (Corbel){0};
}

/* ---- what is there ---- */

typedef struct SolidUnit {
    int column, row, tier;
} SolidUnit;

static SolidUnit solid_unit_of(const Corbel *c, int layer, int x, int tier)
{
    const int column = c->panel->column + x;
    if (c->solid->build == BUILD_WALL) return (SolidUnit){column, c->panel->row + layer, tier};
    return (SolidUnit){column, c->panel->row + tier, layer};
}

static uint8_t held_by(const Corbel *c, int layer, int x, int tier)
{
    const SolidUnit p = solid_unit_of(c, layer, x, tier);
    if (p.tier >= solid_top(c->solid, p.column, p.row)) return HELD_BY_NONE;
    return solid_fills(c->solid, p.column, p.row, p.tier) ? HELD_BY_BRICK : HELD_BY_CORE;
}

int corbel_see(Corbel *c, int layer)
{
    /* A plaque's base sheet and a panel of one course hold what they have. */
    const bool ground = layer == 0 && (c->solid->build == BUILD_PLAQUE || c->layers == 1);
    const int holder = layer > 0 ? layer - 1 : layer + 1;
    int hanging = 0;
    c->layer = layer;
    for (int x = 0; x < c->panel->columns; x++)
        for (int tier = 0, first = -1; tier < c->depth; tier++) {
            const size_t unit = corbel_unit(c, x, tier);
            const SolidUnit p = solid_unit_of(c, layer, x, tier);
            if (tier == 0 || c->solid->build == BUILD_PLAQUE) /* another cell */
                first = solid_first_shown(c->solid, p.column, p.row);
            c->hue[unit] = HUE_NONE;
            c->held[unit] = HELD_BY_BRICK;
            if (!solid_fills(c->solid, p.column, p.row, p.tier)) continue;
            c->hue[unit] = p.tier < first ? (int16_t)HUE_FREE
                                          : (int16_t)grid_colour(c->solid->grid, p.column, p.row);
            if (!ground) c->held[unit] = held_by(c, holder, x, tier);
            hanging += c->held[unit] != HELD_BY_BRICK;
        }
    return hanging;
}

/* ---- what a brick may do ---- */

typedef struct LayerBox {
    int a, b, c, d; /* columns [a,b), tiers [c,d) */
} LayerBox;

static bool all_held(const Corbel *corbel, int a, int b, int c, int d)
{
    for (int tier = c; tier < d; tier++)
        for (int x = a; x < b; x++)
            if (corbel->held[corbel_unit(corbel, x, tier)] != HELD_BY_BRICK) return false;
    return true;
}

static bool bears_at_both_ends(const Corbel *k, const LayerBox *q)
{
    return (all_held(k, q->a, q->a + 1, q->c, q->d) && all_held(k, q->b - 1, q->b, q->c, q->d)) ||
           (all_held(k, q->a, q->b, q->c, q->c + 1) && all_held(k, q->a, q->b, q->d - 1, q->d));
}

/* Whether a box is carried. */
static bool is_carried(const Corbel *corbel, const LayerBox *box, int hanging, int jutting)
{
    const int area = (box->b - box->a) * (box->d - box->c);
    if (corbel->layer == 0) return hanging < area;
    return 2 * hanging <= area || (jutting == 0 && bears_at_both_ends(corbel, box));
}

/* Whether the box may be a brick; *hanging_out is the number of its units that hang. */
static bool may_lie(const Corbel *corbel, const LayerBox *box, int *hanging_out)
{
    int hanging = 0, jutting = 0, colour = HUE_FREE;
    for (int tier = box->c; tier < box->d; tier++)
        for (int x = box->a; x < box->b; x++) {
            const size_t unit = corbel_unit(corbel, x, tier);
            const int hue = corbel->hue[unit];
            if (hue == HUE_NONE) return false;
            if (hue != HUE_FREE) {
                if (colour != HUE_FREE && colour != hue) return false;
                colour = hue;
            }
            hanging += corbel->held[unit] != HELD_BY_BRICK;
            jutting += corbel->held[unit] == HELD_BY_NONE;
        }
    *hanging_out = hanging;
    return is_carried(corbel, box, hanging, jutting);
}

bool corbel_carries(const Corbel *corbel, const CourseBrick *p)
{
    const LayerBox box = {p->column, p->column + p->columns, p->tier, p->tier + p->tiers};
    int hanging = 0, jutting = 0;
    for (int tier = box.c; tier < box.d; tier++)
        for (int x = box.a; x < box.b; x++) {
            const uint8_t held = corbel->held[corbel_unit(corbel, x, tier)];
            hanging += held != HELD_BY_BRICK;
            jutting += held == HELD_BY_NONE;
        }
    return hanging == 0 || is_carried(corbel, &box, hanging, jutting);
}

bool corbel_may_lie(const Corbel *corbel, const CourseBrick *p, int *hanging_out)
{
    const LayerBox box = {p->column, p->column + p->columns, p->tier, p->tier + p->tiers};
    return may_lie(corbel, &box, hanging_out);
}

/* ---- placing them ---- */

/* The best brick for a unit so far. */
typedef struct CarrierChoice {
    LayerBox box;
    int carries; /* units that hang; 0 while there is no brick */
    uint8_t size;
} CarrierChoice;

/* Of the places of a brick columns x tiers units that hold this unit, takes those that are better.
 * True if one was. */
static bool choose_place(const Corbel *corbel, int x, int tier, int columns, int tiers,
                         CarrierChoice *best)
{
    bool better = false;
    for (int a = x - columns + 1; a <= x; a++)
        for (int c = tier - tiers + 1; c <= tier; c++) {
            const LayerBox box = {a, a + columns, c, c + tiers}, *b = &best->box;
            if (a < 0 || c < 0 || box.b > corbel->panel->columns || box.d > corbel->depth) continue;
            int n;
            if (!may_lie(corbel, &box, &n) || n == 0 || n < best->carries) continue;
            if (n == best->carries && columns * tiers >= (b->b - b->a) * (b->d - b->c)) continue;
            best->carries = n;
            best->box = box;
            better = true;
        }
    return better;
}

static bool can_be_carried(const Corbel *corbel, int x, int tier)
{
    const Cuts *cuts = corbel->cuts;
    CarrierChoice best = {0};
    for (int tiers = 1; tiers <= corbel->depth && tiers <= SIZE_LONGEST; tiers++)
        for (int k = 0; k < cuts->count[tiers]; k++)
            if (choose_place(corbel, x, tier, cuts->length[tiers][k], tiers, &best)) return true;
    return false;
}

static void set_hues(Corbel *corbel, const CourseBrick *p, int16_t *hue, bool put)
{
    for (int tier = p->tier, i = 0; tier < p->tier + p->tiers; tier++)
        for (int x = p->column; x < p->column + p->columns; x++, i++) {
            int16_t *at = &corbel->hue[corbel_unit(corbel, x, tier)];
            if (!put) hue[i] = *at;
            *at = put ? hue[i] : (int16_t)HUE_NONE;
        }
}

bool corbel_leaves_carriers(Corbel *corbel, const CourseBrick *brick)
{
    int16_t hue[SIZE_LONGEST * SIZE_LONGEST];
    bool all = true;
    set_hues(corbel, brick, hue, false);
    for (int tier = 0; tier < corbel->depth && all; tier++)
        for (int x = 0; x < corbel->panel->columns && all; x++) {
            const size_t unit = corbel_unit(corbel, x, tier);
            if (corbel->held[unit] == HELD_BY_BRICK || corbel->hue[unit] == HUE_NONE) continue;
            all = can_be_carried(corbel, x, tier);
        }
    set_hues(corbel, brick, hue, true);
    return all;
}

/* Finds the brick that carries a unit, and takes its units; false where none can. */
static bool carry_unit(Corbel *corbel, int x, int tier, CourseBrick *brick_out)
{
    const Cuts *cuts = corbel->cuts;
    CarrierChoice best = {0};
    const int deepest = corbel->depth < SIZE_LONGEST ? corbel->depth : SIZE_LONGEST;
    for (int i = 1; i <= deepest; i++) {
        const int tiers = corbel->deep ? deepest + 1 - i : i;
        for (int k = 0; k < cuts->count[tiers]; k++)
            if (choose_place(corbel, x, tier, cuts->length[tiers][k], tiers, &best))
                best.size = cuts->size[tiers][k];
    }
    if (!best.carries) return false;
    const LayerBox *b = &best.box;
    *brick_out = (CourseBrick){(int16_t)b->a, (int16_t)b->c, (uint8_t)(b->b - b->a),
                               (uint8_t)(b->d - b->c), best.size};
    for (int t = b->c; t < b->d; t++)
        for (int c = b->a; c < b->b; c++) corbel->hue[corbel_unit(corbel, c, t)] = HUE_NONE;
    return true;
}

/* Carries what it can in one order; *failed_out units stay. */
static Status try_order(Corbel *corbel, int order, int *failed_out, Fault *fault)
{
    const int columns = corbel->panel->columns, depth = corbel->depth;
    *failed_out = 0;
    corbel->trial.count = 0;
    memset(corbel->fails, 0, corbel_unit(corbel, 0, depth));
    for (int i = 0; i < depth; i++)
        for (int j = 0; j < columns; j++) {
            const int tier = order < 2 ? depth - 1 - i : i, x = order == 1 ? columns - 1 - j : j;
            const size_t unit = corbel_unit(corbel, x, tier);
            if (corbel->held[unit] == HELD_BY_BRICK || corbel->hue[unit] == HUE_NONE) continue;
            CourseBrick brick;
            if (carry_unit(corbel, x, tier, &brick)) {
                const Status status = course_add(&corbel->trial, &brick, fault);
                if (status) return status;
                continue;
            }
            corbel->fails[unit] = 1;
            ++*failed_out;
        }
    return STATUS_OK;
}

Status corbel_course(Corbel *corbel, int layer, bool deep, Course *course, int *failed_out,
                     Fault *fault)
{
    const size_t units = corbel_unit(corbel, 0, corbel->depth);
    const size_t bytes = units * sizeof *corbel->hue;
    corbel->deep = deep;
    *failed_out = 0;
    course->count = 0;
    memset(corbel->hangs, 0, units);
    if (corbel_see(corbel, layer) == 0) return STATUS_OK;
    memcpy(corbel->seen, corbel->hue, bytes);
    int fewest = -1, chosen = 0;
    for (int order = 0; order <= ORDERS && fewest != 0; order++) {
        /* The last round takes the chosen order again, if it was not the last one tried. */
        const int which = order < ORDERS ? order : chosen;
        if (order == ORDERS && chosen == ORDERS - 1) break;
        memcpy(corbel->hue, corbel->seen, bytes);
        int failed;
        Status status = try_order(corbel, which, &failed, fault);
        if (!status && (order == ORDERS || fewest < 0 || failed < fewest)) {
            fewest = failed;
            chosen = which;
            memcpy(corbel->hangs, corbel->fails, units);
            status = course_copy(course, &corbel->trial, fault);
        }
        if (status) return status;
    }
    *failed_out = fewest;
    return STATUS_OK;
}
