/* What hangs together and how it bonds, worked out unit by unit from who owns which unit.
 *
 * Joined: two bricks of one panel that overlap by a unit in neighbouring layers (tiers
 * of a plaque, rows of a wall). Bricks are nodes of a graph; in a plaque a panel's base
 * sheet is a node too, joined to all of its first tier.
 *
 * Unsupported: in a wall, above its panel's lowest row, no unit of the brick lies over a
 * unit of the row below. In a plaque, above the first tier, none over the tier below.
 *
 * Weak: an articulation point of the graph.
 *
 * Straight joint: in a wall a line between two columns is straight in a row if no brick
 * crosses it in any tier; in a plaque, if two bricks of one tier and row meet there. Its
 * length is the number of rows, one above another, where it is.
 *
 * Quarter lap: seen unit by unit at a joint x between bricks P (left) and Q, over the
 * layer before. Where two bricks of that layer meet at x as well the lap is 0. Else P
 * laps the brick under its end, which begins at y, by x - y if P begins before y; and Q
 * the brick under its start, which ends at z, by z - x if Q ends after z. Each must be a
 * quarter of the shorter of the two bricks. What lies over nothing laps nothing, and a
 * joint over nothing at all is left out. In a plaque joints between rows count like
 * those between columns.
 *
 * Source: articulation points by depth-first search, Hopcroft and Tarjan 1973, CACM 16(6):372-378;
 * the quarter lap is common practice in masonry, no source. */
#include "check/check_bond.h"

#include "base/memory.h"

#include <assert.h>
#include <string.h>

typedef struct Web {
    const PlanFacts *e;
    Hold *hold;
    size_t nodes;
    size_t *first; /* nodes + 1, into link */
    uint32_t *link;
    uint32_t *seen, *low; /* order of discovery from 1, and the lowest reached from below */
    uint32_t *parent;
    size_t *next; /* the link to follow next */
} Web;

static uint32_t unit(const PlanFacts *e, int column, int row, int tier)
{
    return tier >= 0 && tier < plan_facts_top(e, column, row)
               ? *plan_facts_unit(e, column, row, tier)
               : 0;
}

static bool same_plot(const PlanFacts *e, int column, int row, int other_column, int other_row)
{
    if (other_column < 0 || other_row < 0) return false;
    const size_t width = (size_t)e->columns;
    return e->plot_of[(size_t)row * width + (size_t)column] ==
           e->plot_of[(size_t)other_row * width + (size_t)other_column];
}

/* The brick that lies in the layer before, under a unit; 0: none, or another panel's. */
static uint32_t under(const PlanFacts *e, int column, int row, int tier)
{
    if (!e->wall) return unit(e, column, row, tier - 1);
    return same_plot(e, column, row, column, row - 1) ? unit(e, column, row - 1, tier) : 0;
}

/* Calls visit once for each two bricks that are joined, the upper one first. `mark`
 * holds for each brick the last upper one that it was visited for. */
typedef void Visit(Web *web, uint32_t upper, uint32_t lower);

static void each_pair(Web *web, uint32_t *mark, Visit *visit)
{
    const PlanFacts *e = web->e;
    memset(mark, 0, e->blocks * sizeof *mark);
    for (size_t i = 0; i < e->blocks; i++) {
        const Block *b = &e->block[i];
        for (int r = b->row; r < b->row + b->rows; r++)
            for (int c = b->column; c < b->column + b->columns; c++)
                for (int t = b->tier; t < b->tier + b->tiers; t++) {
                    const uint32_t lower = under(e, c, r, t);
                    if (!lower || mark[lower - 1] == i + 1) continue;
                    mark[lower - 1] = (uint32_t)i + 1;
                    visit(web, (uint32_t)i, lower - 1);
                }
        if (!e->wall && b->tier == 0) visit(web, (uint32_t)i, (uint32_t)(e->blocks + b->plot));
    }
}

static void count_pair(Web *web, uint32_t upper, uint32_t lower)
{
    web->first[upper + 1]++;
    web->first[lower + 1]++;
}

static void link_pair(Web *web, uint32_t upper, uint32_t lower)
{
    web->link[web->next[upper]++] = lower;
    web->link[web->next[lower]++] = upper;
}

static Status web_init(Web *w, const PlanFacts *e, Fault *fault)
{
    *w = (Web){.e = e, .nodes = e->blocks + (e->wall ? 0 : e->plots)};
    const size_t n = w->nodes;
    w->hold = memory_create(e->plots, sizeof *w->hold);
    w->first = memory_create(n + 1, sizeof *w->first);
    w->seen = memory_create(n, sizeof *w->seen);
    w->low = memory_create(n, sizeof *w->low);
    w->parent = memory_create(n, sizeof *w->parent);
    w->next = memory_create(n, sizeof *w->next);
    if (!w->hold || !w->first || !w->seen || !w->low || !w->parent || !w->next)
        return memory_fault(fault, n, sizeof *w->next);
    each_pair(w, w->low, count_pair);
    for (size_t i = 0; i < n; i++) w->first[i + 1] += w->first[i];
    w->link = memory_create(w->first[n], sizeof *w->link);
    if (!w->link) return memory_fault(fault, w->first[n], sizeof *w->link);
    memcpy(w->next, w->first, n * sizeof *w->next);
    each_pair(w, w->low, link_pair);
    memcpy(w->next, w->first, n * sizeof *w->next);
    return STATUS_OK;
}

static void web_clear(Web *w)
{
    memory_free(w->hold);
    memory_free(w->first);
    memory_free(w->link);
    memory_free(w->seen);
    memory_free(w->low);
    memory_free(w->parent);
    memory_free(w->next);
}

static Hold *hold_of(const Web *w, size_t node)
{
    const PlanFacts *e = w->e;
    return &w->hold[node < e->blocks ? e->block[node].plot : node - e->blocks];
}

/* Depth first from root without recursion. `weak` (a byte a node) is set where a child
 * reaches nothing above its parent; the root counts its children. */
static void search_depth_first(Web *w, uint32_t root, uint32_t *order, uint8_t *weak)
{
    uint32_t at = root, children = 0;
    w->seen[root] = w->low[root] = ++*order;
    w->parent[root] = root;
    for (;;) {
        if (w->next[at] < w->first[at + 1]) {
            const uint32_t to = w->link[w->next[at]++];
            if (!w->seen[to]) {
                w->seen[to] = w->low[to] = ++*order;
                w->parent[to] = at;
                children += at == root;
                at = to;
            } else if (to != w->parent[at] && w->seen[to] < w->low[at]) {
                w->low[at] = w->seen[to];
            }
            continue;
        }
        if (at == root) break;
        const uint32_t up = w->parent[at];
        if (w->low[at] < w->low[up]) w->low[up] = w->low[at];
        if (up != root && w->low[at] >= w->seen[up]) weak[up] = 1;
        at = up;
    }
    weak[root] = children > 1;
}

static Status find_pieces(Web *w, Fault *fault)
{
    uint8_t *weak = memory_create(w->nodes, 1);
    if (!weak) return memory_fault(fault, w->nodes, 1);
    uint32_t order = 0;
    /* From the base sheets first, so that they are roots: a sheet is never weak. */
    for (size_t k = w->nodes; k-- > 0;) {
        if (w->seen[k]) continue;
        hold_of(w, k)->pieces++;
        search_depth_first(w, (uint32_t)k, &order, weak);
    }
    for (size_t i = 0; i < w->e->blocks; i++) hold_of(w, i)->weak += weak[i];
    memory_free(weak);
    return STATUS_OK;
}

static bool rests(const PlanFacts *e, const Block *b)
{
    if (e->wall ? b->row == e->plot[b->plot].row : b->tier == 0) return true;
    for (int r = b->row; r < b->row + b->rows; r++)
        for (int c = b->column; c < b->column + b->columns; c++)
            for (int t = b->tier; t < b->tier + b->tiers; t++)
                if (under(e, c, r, t)) return true;
    return false;
}

/* Whether the line at the left edge of the column is a straight joint in this row (of
 * a wall), or in this row and tier (of a plaque). */
static bool parted(const PlanFacts *e, int column, int row, int tier)
{
    if (!same_plot(e, column, row, column - 1, row)) return false;
    const uint32_t left = unit(e, column - 1, row, tier), right = unit(e, column, row, tier);
    if (!e->wall) return left && right && left != right;
    const int top = plan_facts_top(e, column, row);
    for (int t = 0; t < top; t++) {
        const uint32_t beside = unit(e, column - 1, row, t);
        if (beside && beside == unit(e, column, row, t)) return false;
    }
    return true;
}

static Status find_straight(Web *w, Fault *fault)
{
    const PlanFacts *e = w->e;
    const size_t width = (size_t)e->columns;
    int deepest = 1;
    for (size_t i = 0; i < width * (size_t)e->rows && !e->wall; i++)
        if (e->top[i] > deepest) deepest = e->top[i];
    int *run = memory_create(width, (size_t)deepest * sizeof *run);
    if (!run) return memory_fault(fault, width, (size_t)deepest * sizeof *run);
    for (int row = 0; row < e->rows; row++)
        for (int column = 1; column < e->columns; column++) {
            Hold *hold = &w->hold[e->plot_of[(size_t)row * width + (size_t)column]];
            const bool goes_on = same_plot(e, column, row, column, row - 1);
            int *length = run + (size_t)column * (size_t)deepest;
            for (int tier = 0; tier < deepest; tier++) {
                if (!goes_on) length[tier] = 0;
                length[tier] = parted(e, column, row, tier) ? length[tier] + 1 : 0;
                if (length[tier] > hold->straight) hold->straight = length[tier];
            }
        }
    memory_free(run);
    return STATUS_OK;
}

/* A brick's span along a line of units: of columns, or of rows. */
static void span(const Block *b, bool upright, int *begin_out, int *end_out)
{
    *begin_out = upright ? b->row : b->column;
    *end_out = *begin_out + (upright ? b->rows : b->columns);
}

static bool quarter(int lap, int a, int b) { return 4 * lap >= (a < b ? a : b); }

/* Whether a brick that ends or begins at x, over the brick `below`, laps far enough.
 * It laps it only if it reaches over that brick's other end. */
static bool laps_over(const PlanFacts *e, uint32_t upper, uint32_t below, int x, bool upright)
{
    int begin, end, y, z;
    span(&e->block[upper - 1], upright, &begin, &end);
    span(&e->block[below - 1], upright, &y, &z);
    if (end == x) return begin >= y || quarter(x - y, end - begin, z - y);
    return end <= z || quarter(z - x, end - begin, z - y);
}

static bool laps(const PlanFacts *e, const uint32_t unit4[4], int x, bool upright)
{
    if (unit4[2] && unit4[3] && unit4[2] != unit4[3]) return false;
    return (!unit4[2] || laps_over(e, unit4[0], unit4[2], x, upright)) &&
           (!unit4[3] || laps_over(e, unit4[1], unit4[3], x, upright));
}

/* The joint between a unit and the one before it in its row, or below it. */
static void look_at_joint(Web *w, int column, int row, int tier, bool upright)
{
    const PlanFacts *e = w->e;
    const int c = column - !upright, r = row - upright;
    if (!same_plot(e, column, row, c, r)) return;
    const uint32_t unit4[4] = {unit(e, c, r, tier), unit(e, column, row, tier),
                               under(e, c, r, tier), under(e, column, row, tier)};
    if (!unit4[0] || !unit4[1] || unit4[0] == unit4[1] || (!unit4[2] && !unit4[3])) return;
    Hold *hold = &w->hold[e->plot_of[(size_t)row * (size_t)e->columns + (size_t)column]];
    hold->joints++;
    hold->lapped += laps(e, unit4, upright ? row : column, upright);
}

static void find_laps(Web *w)
{
    const PlanFacts *e = w->e;
    for (int row = 0; row < e->rows; row++)
        for (int column = 0; column < e->columns; column++) {
            const int top = plan_facts_top(e, column, row);
            for (int tier = e->wall ? 0 : 1; tier < top; tier++) {
                look_at_joint(w, column, row, tier, false);
                if (!e->wall) look_at_joint(w, column, row, tier, true);
            }
        }
}

Status check_hold(PlanFacts *e, Fault *fault)
{
    assert(e->sound);
    Web web;
    Status status = web_init(&web, e, fault);
    if (!status) status = find_pieces(&web, fault);
    if (!status) status = find_straight(&web, fault);
    if (!status) {
        find_laps(&web);
        for (size_t i = 0; i < e->blocks; i++) {
            Hold *hold = &web.hold[e->block[i].plot];
            hold->bricks++;
            hold->unsupported += !rests(e, &e->block[i]);
        }
        e->hold = web.hold;
        web.hold = NULL;
    }
    web_clear(&web);
    return status;
}
