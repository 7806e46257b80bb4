/* Idea. A tier of a stack is tied where a larger brick can take the place of its brick and of units
 * beside it: units behind the face, whose colour is free, or such as show the same colour. The
 * tiler leaves them apart where that takes a brick less; to hold may be worth that brick. Where
 * every unit beside shows another colour, or there is none so high, no tie exists.
 *
 * One tier suffices: as high as it can be had, since what stands out of a tie is a stack of its
 * own. Of several places that is taken which cuts fewest of the bricks that lie there, then the one
 * that reaches farthest over bricks that the stack does not stand on. A tie has a size that is laid
 * already: a job may leave sizes out, such as its stock lacks, or for the sake of bond.
 *
 * Source. Ours. Of two stacks of 13 tiers one above the other one tied tier halves what joints
 * take, and more tiers gain next to nothing: tests/clutch/test_known_answers.c. */
#include "plan/hold_ties.h"

#include "base/memory.h"

Status unit_map_init(UnitMap *map_out, const Solid *solid, const Laid *laid, Fault *fault)
{
    const size_t cells = grid_cells(solid->grid), depth = (size_t)solid_depth(solid);
    *map_out = (UnitMap){.brick = memory_create(cells, depth * sizeof *map_out->brick)};
    if (!map_out->brick) return memory_fault(fault, cells, depth * sizeof *map_out->brick);
    for (size_t i = 0; i < laid->count; i++) {
        const Brick *b = &laid->brick[i];
        map_out->has_size[b->size] = true;
        for (int r = b->row; r < b->row + b->rows; r++)
            for (int c = b->column; c < b->column + b->columns; c++)
                map_out->brick[solid_unit(solid, c, r, b->tier)] = (uint32_t)i + 1;
    }
    return STATUS_OK;
}

void unit_map_clear(UnitMap *map)
{
    memory_free(map->brick);
    *map = (UnitMap){0};
}

/* NULL: none, or outside. */
static const Brick *brick_at(const TieTask *t, int column, int row, int tier)
{
    const Solid *s = &t->body->solid;
    if (!solid_fills(s, column, row, tier)) return NULL;
    const uint32_t i = t->map->brick[solid_unit(s, column, row, tier)];
    return i ? &t->laid->brick[i - 1] : NULL;
}

/* ---- one place ---- */

static bool in_panel(const TieTask *t, const Brick *b)
{
    const Panel *p = &t->body->panels.panel[b->panel];
    return b->column >= p->column && b->row >= p->row &&
           b->column + b->columns <= p->column + p->columns && b->row + b->rows <= p->row + p->rows;
}

static bool meets_ties(const TieTask *t, const Brick *b)
{
    for (size_t i = 0; i < t->ties->count; i++) {
        const Brick *o = &t->ties->brick[i];
        if (o->tier == b->tier && o->column < b->column + b->columns &&
            b->column < o->column + o->columns && o->row < b->row + b->rows &&
            b->row < o->row + o->rows)
            return true;
    }
    return false;
}

/* Whether one brick may show what all these units do. */
static bool has_one_colour(const TieTask *t, const Brick *b)
{
    const Solid *s = &t->body->solid;
    int colour = -1;
    for (int r = b->row; r < b->row + b->rows; r++)
        for (int c = b->column; c < b->column + b->columns; c++) {
            if (!brick_at(t, c, r, b->tier)) return false;
            if (!solid_shown(s, c, r, b->tier)) continue;
            const int shown = grid_colour(s->grid, c, r);
            if (colour >= 0 && shown != colour) return false;
            colour = shown;
        }
    return true;
}

/* Bricks of which a place leaves a part, less those that it takes whole. */
static int bricks_more(const TieTask *t, const Brick *b)
{
    int more = 0;
    for (int r = b->row; r < b->row + b->rows; r++)
        for (int c = b->column; c < b->column + b->columns; c++) {
            const Brick *o = brick_at(t, c, r, b->tier);
            const bool first = (c == b->column || c == o->column) && (r == b->row || r == o->row);
            if (!first) continue;
            const bool whole = o->column >= b->column && o->row >= b->row &&
                               o->column + o->columns <= b->column + b->columns &&
                               o->row + o->rows <= b->row + b->rows;
            more += whole ? -1 : 1;
        }
    return more;
}

/* Knobs under it of bricks that those of the tied one are none of. */
static int reach(const TieTask *t, const Brick *b, const Brick *tied)
{
    int knobs = 0;
    for (int r = b->row; r < b->row + b->rows; r++)
        for (int c = b->column; c < b->column + b->columns; c++) {
            const Brick *under = brick_at(t, c, r, b->tier - 1);
            bool others = under != NULL;
            for (int y = tied->row; y < tied->row + tied->rows && others; y++)
                for (int x = tied->column; x < tied->column + tied->columns; x++)
                    others = others && brick_at(t, x, y, b->tier - 1) != under;
            knobs += others;
        }
    return knobs;
}

/* ---- the best one ---- */

typedef struct BestTie {
    Brick brick;
    int more, reach; /* reach 0: none yet */
} BestTie;

static void try_place(const TieTask *t, const Brick *place, const Brick *tied, BestTie *best)
{
    if (!in_panel(t, place) || meets_ties(t, place) || !has_one_colour(t, place)) return;
    const int more = bricks_more(t, place), far = reach(t, place, tied);
    if (!far || (best->reach && more > best->more)) return;
    if (best->reach && more == best->more && far <= best->reach) return;
    *best = (BestTie){*place, more, far};
}

/* All places of one size that cover a brick and more. */
static void try_size(const TieTask *t, const Brick *tied, int size, bool turned, BestTie *best)
{
    const Size *s = &t->sizes->size[size];
    Brick place = *tied;
    place.size = (uint8_t)size;
    place.columns = (uint8_t)(turned ? s->length : s->width);
    place.rows = (uint8_t)(turned ? s->width : s->length);
    const int wide = place.columns - tied->columns, high = place.rows - tied->rows;
    if (wide < 0 || high < 0 || wide + high == 0) return;
    for (place.row = tied->row - high; place.row <= tied->row; place.row++)
        for (place.column = tied->column - wide; place.column <= tied->column; place.column++)
            try_place(t, &place, tied, best);
}

static bool tie_brick(const TieTask *t, const Brick *tied, Brick *tie_out)
{
    BestTie best = {0};
    for (int i = 0; i < t->sizes->count; i++) {
        if (!t->map->has_size[i]) continue;
        try_size(t, tied, i, false, &best);
        if (t->sizes->size[i].width != t->sizes->size[i].length) try_size(t, tied, i, true, &best);
    }
    *tie_out = best.brick;
    return best.reach > 0;
}

/* At one of the cells that a brick shows outward. */
static bool tie_tier(const TieTask *t, const Brick *b, int tier, Brick *tie_out)
{
    const Solid *s = &t->body->solid;
    for (int r = b->row; r < b->row + b->rows; r++)
        for (int c = b->column; c < b->column + b->columns; c++) {
            if (solid_top(s, c, r) != b->tier + 1 || !solid_shown(s, c, r, tier)) continue;
            const Brick *tied = brick_at(t, c, r, tier);
            if (tied && tie_brick(t, tied, tie_out)) return true;
        }
    return false;
}

bool hold_ties_find(const TieTask *t, const Brick *brick, Brick *tie_out)
{
    for (int tier = brick->tier; tier > 0; tier--)
        if (tie_tier(t, brick, tier, tie_out)) return true;
    return false;
}
