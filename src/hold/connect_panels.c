/* Panels joined by a step or two.
 *
 * Idea. No brick shows two colours, so where colours part a panel from its lowest course to its
 * highest only a brick behind the face can join it, and there may be none: a wall one unit thick
 * has nothing behind it. Two cells beside the line, one above the other, raised by a step, are
 * enough: of their two courses one has a header that carries the step, the other a brick behind it,
 * of the colour across the line, that laps it. The places are taken that raise the fewest steps,
 * until the pieces are one: a least spanning tree over the pieces, its edges the places.
 *
 * Invariants. Steps are only raised, from 0 to 1. A set is told by its lowest brick, so that the
 * places taken do not depend on the order of joining.
 *
 * Source. Kruskal 1956, Proc. AMS 7:48-50, with disjoint sets (path halving: Tarjan and van Leeuwen
 * 1984, J. ACM 31:245-281), from memory. */
#include "hold/connect_panels.h"

#include "base/memory.h"

#include <stdlib.h>
#include <string.h>

/* One panel: the bricks of a list, by their place in it, are parted into sets. */
typedef struct PanelSets {
    Grid *grid;
    const Panel *panel;
    const Brick *brick; /* the panel's, first of them */
    size_t bricks;
    int depth;
    uint32_t *unit; /* rows x columns x depth: the brick + 1, 0 for none */
    uint32_t *set;  /* bricks: another of its set, or itself */
} PanelSets;

/* Two cells, one above the other, that may be raised. */
typedef struct RaisePlace {
    int row, column; /* of the lower, in the mural */
    bool ground;     /* it takes the panel's lowest row, which may have its step held from above */
    int steps;       /* to be raised */
    uint32_t a, b;   /* bricks that would be joined */
} RaisePlace;

static uint32_t set_of(uint32_t *set, uint32_t i)
{
    while (set[i] != i) i = set[i] = set[set[i]];
    return i;
}

static uint32_t *brick_at_unit(const PanelSets *k, int x, int y, int tier)
{
    const size_t cell = (size_t)y * (size_t)k->panel->columns + (size_t)x;
    return &k->unit[cell * (size_t)k->depth + (size_t)tier];
}

/* Enters the bricks and joins each with those below; the number of sets. */
static size_t join_bricks(PanelSets *k)
{
    size_t sets = k->bricks;
    for (uint32_t i = 0; i < k->bricks; i++) {
        const Brick *b = &k->brick[i];
        const int left = b->column - k->panel->column, y = b->row - k->panel->row;
        k->set[i] = i;
        for (int x = left; x < left + b->columns; x++)
            for (int tier = b->tier; tier < b->tier + b->tiers; tier++) {
                *brick_at_unit(k, x, y, tier) = i + 1;
                const uint32_t below = y > 0 ? *brick_at_unit(k, x, y - 1, tier) : 0;
                if (!below) continue;
                const uint32_t p = set_of(k->set, i), q = set_of(k->set, below - 1);
                sets -= p != q;
                k->set[p > q ? p : q] = p > q ? q : p;
            }
    }
    return sets;
}

static uint8_t *steps_at(const PanelSets *k, int column, int row)
{
    return &k->grid->steps[(size_t)row * (size_t)k->grid->columns + (size_t)column];
}

/* What is behind the face of a raised cell cannot be seen, save at the mural's edge. */
static bool hides(const PanelSets *k, int column, int row)
{
    return column > 0 && column + 1 < k->grid->columns && row > 0 && row + 1 < k->grid->rows;
}

/* Column x of the panel, at rows y and y + 1, beside column u. The brick across the line is to
 * lie in the upper row, or in a panel's lowest. */
static bool find_raise(const PanelSets *k, int x, int u, int y, RaisePlace *place)
{
    const int column = k->panel->column + x, row = k->panel->row + y;
    if (u < 0 || u >= k->panel->columns) return false;
    if (!hides(k, column, row + 1) && !(y == 0 && hides(k, column, row))) return false;
    *place = (RaisePlace){.row = row,
                          .column = column,
                          .ground = y == 0,
                          .steps = !*steps_at(k, column, row) + !*steps_at(k, column, row + 1),
                          .a = *brick_at_unit(k, x, y, 0) - 1,
                          .b = *brick_at_unit(k, u, y, 0) - 1};
    return place->steps > 0 && set_of(k->set, place->a) != set_of(k->set, place->b);
}

/* A header is certain where the step hangs, so not in the lowest row. */
static int cheaper_first(const void *left, const void *right)
{
    const RaisePlace *a = left, *b = right;
    if (a->ground != b->ground) return a->ground ? 1 : -1;
    if (a->steps != b->steps) return a->steps < b->steps ? -1 : 1;
    if (a->row != b->row) return a->row < b->row ? -1 : 1;
    if (a->column != b->column) return a->column < b->column ? -1 : 1;
    return a->b < b->b ? -1 : a->b > b->b; /* the two sides of one cell */
}

static size_t raise_cells(PanelSets *k, const RaisePlace *p)
{
    size_t raised = 0;
    for (int row = p->row; row < p->row + 2; row++) {
        uint8_t *steps = steps_at(k, p->column, row);
        raised += *steps == 0;
        if (*steps == 0) *steps = 1;
    }
    return raised;
}

/* Takes places, the cheapest first, that join sets still apart. */
static Status join_sets(PanelSets *k, size_t *raised_out, Fault *fault)
{
    const size_t most = 2 * (size_t)k->panel->columns * (size_t)k->panel->rows;
    RaisePlace *place = memory_create(most, sizeof *place);
    if (!place) return memory_fault(fault, most, sizeof *place);
    size_t n = 0;
    for (int y = 0; y + 1 < k->panel->rows; y++)
        for (int x = 0; x < k->panel->columns; x++)
            for (int u = x - 1; u <= x + 1; u += 2) n += find_raise(k, x, u, y, &place[n]);
    if (n) qsort(place, n, sizeof *place, cheaper_first);
    for (size_t i = 0; i < n; i++) {
        const uint32_t p = set_of(k->set, place[i].a), q = set_of(k->set, place[i].b);
        if (p == q) continue;
        k->set[p > q ? p : q] = p > q ? q : p;
        *raised_out += raise_cells(k, &place[i]);
    }
    memory_free(place);
    return STATUS_OK;
}

static Status connect_panel(PanelSets *k, size_t *raised_out, Fault *fault)
{
    const size_t cells = (size_t)k->panel->columns * (size_t)k->panel->rows;
    for (size_t i = 0; i < k->bricks; i++)
        if (k->brick[i].tier + k->brick[i].tiers > k->depth)
            k->depth = k->brick[i].tier + k->brick[i].tiers;
    k->unit = memory_create(cells, (size_t)k->depth * sizeof *k->unit);
    k->set = memory_create(k->bricks, sizeof *k->set);
    Status status = k->unit && k->set ? STATUS_OK : memory_fault(fault, cells, sizeof *k->unit);
    if (!status && join_bricks(k) > 1) status = join_sets(k, raised_out, fault);
    memory_free(k->unit);
    memory_free(k->set);
    return status;
}

Status connect_panels(Grid *grid, const Solid *solid, const Panels *panels, const Laid *laid,
                      size_t *raised_out, Fault *fault)
{
    *raised_out = 0;
    if (!grid->steps || solid->build != BUILD_WALL) return STATUS_OK;
    Status status = STATUS_OK;
    for (size_t i = 0, end; i < laid->count && !status; i = end) {
        const int panel = laid->brick[i].panel;
        for (end = i + 1; end < laid->count && laid->brick[end].panel == panel;) end++;
        PanelSets k = {.grid = grid,
                       .panel = &panels->panel[panel],
                       .brick = &laid->brick[i],
                       .bricks = end - i};
        status = connect_panel(&k, raised_out, fault);
    }
    return status;
}
