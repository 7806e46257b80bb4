/* The transportation problem by successive shortest paths (Ahuja, Magnanti & Orlin, Network Flows,
 * 1993, 9.7) on a graph of the colours alone. Moving a cell from colour c to k costs cost(k) -
 * cost(c); the length of the arc c -> k is the least of these among c's cells. One node more, the
 * sink, takes in the cells that colours may have: there is an arc from c to it while the flow
 * from c is below c's limit, and one back while there is any flow from c.
 *
 * The prices are potentials: with x the cell's colour, cost(x) + price(x) is the least
 * there is, so every arc has a reduced length of at least 0, which a path of length 0
 * keeps. At the end every cell has reached the sink, so no colour has more than its limit; and no
 * cycle has a length below 0, so it is an optimum.
 *
 * Starting from prices that are nearly right leaves few cells to move. So the problem is
 * solved for some hundred cells first; from their prices it is solved for eight times as many, and
 * so on.
 *
 * The cells that leave c first are found in a short sorted list for each pair of colours,
 * filled again from all cells when it is used up. */
#include "cells/transport.h"

#include "base/bands.h"
#include "base/memory.h"
#include "colour/delta_e.h"
#include "colour/delta_e_quick.h"

#include <assert.h>
#include <math.h>
#include <string.h>

enum {
    LIST_MOST = 48,    /* entries of a list */
    FIRST_CELLS = 512, /* of the first, small problem */
    GROWTH = 8
};

#define UNREACHABLE INT64_MAX

/* The least keys of one pair, ascending: what the move costs, then the cell. Entries of
 * cells that left since are skipped when they come up. */
typedef struct List {
    int count;
    bool whole; /* nothing was left out for lack of room */
    uint64_t entry[LIST_MOST];
} List;

typedef struct Network {
    const Transport *problem;
    const size_t *cell; /* the cells in hand, of all; NULL: all */
    size_t cells;
    int colours, nodes;                           /* nodes: the colours and the sink */
    long limit[PALETTE_MOST];                     /* scaled to the cells in hand */
    int64_t price[PALETTE_MOST + 1];              /* the sink's is 0 */
    uint8_t *colour;                              /* of each cell in hand */
    long taken[PALETTE_MOST], flow[PALETTE_MOST]; /* cells of a colour; its flow to the sink */
    long sink_flow;                               /* in all */
    List *list;                                   /* colours x colours */
} Network;

static const uint16_t *costs_of(const Network *m, size_t i)
{
    const size_t cell = m->cell ? m->cell[i] : i;
    return m->problem->cost + cell * (size_t)m->colours;
}

static int weight_of(const Network *m, size_t i)
{
    if (!m->problem->weight) return 1;
    return m->problem->weight[m->cell ? m->cell[i] : i];
}

/* ---- lists ---- */

/* Above any change: costs are of 16 bits, weights below 2^14. */
enum { CHANGE_MOST = 1 << 30 };

static uint64_t entry_of(int change, size_t cell)
{
    return (uint64_t)(change + CHANGE_MOST) << 32 | (uint64_t)cell;
}
static size_t entry_cell(uint64_t entry) { return (size_t)(entry & UINT32_MAX); }
static int entry_change(uint64_t entry) { return (int)(entry >> 32) - CHANGE_MOST; }

static List *list_between(const Network *m, int from, int to)
{
    return &m->list[(size_t)from * (size_t)m->colours + (size_t)to];
}

static void list_insert(List *list, uint64_t entry)
{
    const bool full = list->count == LIST_MOST;
    if (!list->whole || full) {
        /* Beyond the last entry others may be missing. */
        if (list->count == 0 || entry > list->entry[list->count - 1]) {
            list->whole = false;
            return;
        }
    }
    int at = list->count;
    if (full) {
        at--;
        list->whole = false;
    } else {
        list->count++;
    }
    for (; at > 0 && list->entry[at - 1] > entry; at--) list->entry[at] = list->entry[at - 1];
    list->entry[at] = entry;
}

static void list_fill(Network *m, int from, int to)
{
    List *list = list_between(m, from, to);
    list->count = 0;
    list->whole = true;
    for (size_t i = 0; i < m->cells; i++) {
        if (m->colour[i] != from) continue;
        const uint16_t *cost = costs_of(m, i);
        if (cost[to] != TRANSPORT_NEVER)
            list_insert(list, entry_of(weight_of(m, i) * (cost[to] - cost[from]), i));
    }
}

/* All lists in one pass over the cells. */
static void fill_lists(Network *m)
{
    const size_t pairs = (size_t)m->colours * (size_t)m->colours;
    for (size_t i = 0; i < pairs; i++) {
        m->list[i].count = 0;
        m->list[i].whole = true;
    }
    for (size_t i = 0; i < m->cells; i++) {
        const uint16_t *cost = costs_of(m, i);
        const int from = m->colour[i], weight = weight_of(m, i);
        for (int to = 0; to < m->colours; to++)
            if (to != from && cost[to] != TRANSPORT_NEVER)
                list_insert(list_between(m, from, to),
                            entry_of(weight * (cost[to] - cost[from]), i));
    }
}

static void list_drop_first(List *list)
{
    list->count--;
    memmove(list->entry, list->entry + 1, (size_t)list->count * sizeof *list->entry);
}

/* The cell of `from` that goes to `to` at the least cost; false if it has none. */
static bool first_mover(Network *m, int from, int to, uint64_t *entry_out)
{
    List *list = list_between(m, from, to);
    if (!m->taken[from]) return false;
    for (;;) {
        while (list->count && m->colour[entry_cell(list->entry[0])] != from) list_drop_first(list);
        if (list->count) break;
        if (list->whole) return false; /* none may go there */
        list_fill(m, from, to);
    }
    *entry_out = list->entry[0];
    return true;
}

static void reassign_cell(Network *m, size_t cell, int from, int to)
{
    const uint16_t *cost = costs_of(m, cell);
    const int weight = weight_of(m, cell);
    m->colour[cell] = (uint8_t)to;
    m->taken[from]--;
    m->taken[to]++;
    for (int k = 0; k < m->colours; k++)
        if (k != to && cost[k] != TRANSPORT_NEVER)
            list_insert(list_between(m, to, k), entry_of(weight * (cost[k] - cost[to]), cell));
}

/* ---- paths ---- */

/* What a node has too much of; below 0, what it lacks. */
static long surplus(const Network *m, int node)
{
    return node < m->colours ? m->taken[node] - m->flow[node] : m->sink_flow - (long)m->cells;
}

/* Reduced length of an arc, or UNREACHABLE where there is none. */
static int64_t arc_length(Network *m, int from, int to)
{
    if (from == m->colours) return m->flow[to] > 0 ? m->price[to] : UNREACHABLE;
    if (to == m->colours) return m->flow[from] < m->limit[from] ? -m->price[from] : UNREACHABLE;
    uint64_t entry;
    if (!first_mover(m, from, to, &entry)) return UNREACHABLE;
    return entry_change(entry) - m->price[from] + m->price[to];
}

typedef struct Paths {
    int64_t distance[PALETTE_MOST + 1];
    int before[PALETTE_MOST + 1];
    bool done[PALETTE_MOST + 1];
} Paths;

/* Dijkstra's algorithm from `source` to the nearest node that lacks something; -1 if
 * there is none. */
static int nearest_lack(Network *m, int source, Paths *p)
{
    for (int i = 0; i < m->nodes; i++) {
        p->distance[i] = UNREACHABLE;
        p->done[i] = false;
    }
    p->distance[source] = 0;
    p->before[source] = -1;
    for (;;) {
        int node = -1;
        for (int i = 0; i < m->nodes; i++)
            if (!p->done[i] && p->distance[i] < UNREACHABLE &&
                (node < 0 || p->distance[i] < p->distance[node]))
                node = i;
        if (node < 0) return -1;
        p->done[node] = true;
        if (surplus(m, node) < 0) return node;
        for (int to = 0; to < m->nodes; to++) {
            if (p->done[to]) continue;
            const int64_t arc = arc_length(m, node, to);
            if (arc == UNREACHABLE || p->distance[node] + arc >= p->distance[to]) continue;
            p->distance[to] = p->distance[node] + arc;
            p->before[to] = node;
        }
    }
}

/* Makes the path to `target` of reduced length 0 and keeps all others at 0 or more. */
static void update_potentials(Network *m, const Paths *p, int target)
{
    const int64_t most = p->distance[target];
    const int64_t sink = p->distance[m->colours] < most ? p->distance[m->colours] : most;
    for (int i = 0; i < m->colours; i++) {
        const int64_t distance = p->distance[i] < most ? p->distance[i] : most;
        m->price[i] += sink - distance;
    }
}

static void push_along(Network *m, int from, int to)
{
    uint64_t entry;
    if (from == m->colours) {
        m->flow[to]--;
        m->sink_flow--;
    } else if (to == m->colours) {
        m->flow[from]++;
        m->sink_flow++;
    } else if (first_mover(m, from, to, &entry)) {
        reassign_cell(m, entry_cell(entry), from, to);
    }
}

static bool path_costs_nothing(Network *m, const Paths *p, int source, int target)
{
    for (int to = target; to != source; to = p->before[to])
        if (arc_length(m, p->before[to], to) != 0) return false;
    return true;
}

static void augment(Network *m, const Paths *p, int source, int target)
{
    int path[PALETTE_MOST + 1] = {target}, nodes = 1;
    while (path[nodes - 1] != source) {
        path[nodes] = p->before[path[nodes - 1]];
        nodes++;
    }
    for (int i = nodes - 1; i > 0; i--) push_along(m, path[i], path[i - 1]);
}

/* Moves what `source` has too much of; the same path serves while it costs nothing. */
static Status drain_surplus(Network *m, int source, const Voice *voice, Fault *fault)
{
    Paths paths;
    while (surplus(m, source) > 0) {
        if (voice_stopped(voice))
            return fault_set(fault, STATUS_INTERRUPTED, "plan: stopped from outside; run it again");
        const int target = nearest_lack(m, source, &paths);
        if (target < 0 && m->cell) return STATUS_OK; /* a sample may lack what the whole has */
        if (target < 0)
            return fault_set(fault, STATUS_DATA,
                             "stock: it has too little of the colours that some regions may take; "
                             "allow them more, or buy bricks");
        update_potentials(m, &paths, target);
        do augment(m, &paths, source, target);
        while (surplus(m, source) > 0 && surplus(m, target) < 0 &&
               path_costs_nothing(m, &paths, source, target));
    }
    return STATUS_OK;
}

/* ---- one problem ---- */

/* Every cell takes what is cheapest at the prices. */
static void take_cheapest(Network *m)
{
    memset(m->taken, 0, sizeof m->taken);
    for (size_t i = 0; i < m->cells; i++) {
        const uint16_t *cost = costs_of(m, i);
        const int weight = weight_of(m, i);
        int best = 0;
        for (int c = 1; c < m->colours; c++)
            if (cost[c] != TRANSPORT_NEVER &&
                (cost[best] == TRANSPORT_NEVER ||
                 weight * cost[c] + m->price[c] < weight * cost[best] + m->price[best]))
                best = c;
        m->colour[i] = (uint8_t)best;
        m->taken[best]++;
    }
    m->sink_flow = 0;
    for (int c = 0; c < m->colours; c++) {
        /* A price above 0 is paid only for a colour that is used up. */
        const bool full = m->price[c] > 0 || m->taken[c] > m->limit[c];
        m->flow[c] = full ? m->limit[c] : m->taken[c];
        m->sink_flow += m->flow[c];
    }
}

static Status solve_network(Network *m, const Voice *voice, Fault *fault)
{
    take_cheapest(m);
    fill_lists(m);
    Status status = STATUS_OK;
    for (int node = 0; !status && node < m->nodes; node++)
        status = drain_surplus(m, node, voice, fault);
    /* A colour that nobody takes may have come out below 0. */
    for (int c = 0; c < m->colours; c++)
        if (m->price[c] < 0) m->price[c] = 0;
    return status;
}

/* ---- growing problems ---- */

static size_t gcd(size_t a, size_t b)
{
    while (b) {
        const size_t rest = a % b;
        a = b;
        b = rest;
    }
    return a;
}

/* Every cell once, in an order whose every beginning is spread over the whole. */
static size_t *spread_cells(size_t cells)
{
    size_t *cell = memory_create(cells, sizeof *cell);
    if (!cell) return NULL;
    size_t step = (size_t)((double)cells * 0.6180339887498949) | 1;
    while (gcd(step, cells) != 1) step += 2;
    for (size_t i = 0, at = 0; i < cells; i++, at = (at + step) % cells) cell[i] = at;
    return cell;
}

/* Rounded up, so that all together still suffice. */
static void scale_limits(Network *m)
{
    const size_t all = m->problem->cells;
    for (int c = 0; c < m->colours; c++) {
        const long limit = m->problem->limit ? m->problem->limit[c] : -1;
        m->limit[c] = (long)m->cells;
        if (limit >= 0 && (size_t)limit < all)
            m->limit[c] = m->cells == all
                              ? limit
                              : (long)ceil((double)limit * (double)m->cells / (double)all);
    }
}

static Status solve_growing(Network *m, const size_t *spread, const Voice *voice, Fault *fault)
{
    const size_t all = m->problem->cells;
    size_t cells = all;
    while (cells / GROWTH >= FIRST_CELLS) cells /= GROWTH;
    for (;; cells = all / cells < 2 * GROWTH ? all : cells * GROWTH) {
        m->cells = cells;
        m->cell = cells < all ? spread : NULL;
        scale_limits(m);
        const Status status = solve_network(m, voice, fault);
        if (status || cells == all) return status;
    }
}

static Status check_limits(const Transport *r, Fault *fault)
{
    size_t sum = 0;
    for (int c = 0; c < r->colours; c++) {
        if (!r->limit || r->limit[c] < 0) return STATUS_OK;
        sum += (size_t)r->limit[c];
    }
    if (sum >= r->cells) return STATUS_OK;
    return fault_set(fault, STATUS_DATA,
                     "stock: it covers %zu cells, the mural has %zu; plan a smaller mural or buy "
                     "bricks",
                     sum, r->cells);
}

double transport_bytes(size_t cells, int colours)
{
    return (double)cells * sizeof(size_t) + (double)colours * colours * sizeof(List) +
           sizeof(Network);
}

Status transport_solve(const Transport *problem, uint8_t *colour_out, int64_t *price_out,
                       const Voice *voice, Fault *fault)
{
    assert(problem->colours >= 1 && problem->colours <= PALETTE_MOST);
    assert(problem->cells <= UINT32_MAX);
    Status status = check_limits(problem, fault);
    if (status) return status;
    const size_t pairs = (size_t)problem->colours * (size_t)problem->colours;
    Network *m = memory_create(1, sizeof *m);
    size_t *spread = spread_cells(problem->cells);
    List *list = memory_create(pairs, sizeof *list);
    if (m && spread && list) {
        *m = (Network){.problem = problem,
                       .colours = problem->colours,
                       .nodes = problem->colours + 1,
                       .colour = colour_out,
                       .list = list};
        status = solve_growing(m, spread, voice, fault);
        for (int c = 0; price_out && c < problem->colours; c++) price_out[c] = m->price[c];
    } else {
        status = memory_fault(fault, problem->cells, sizeof *spread);
    }
    memory_free(list);
    memory_free(spread);
    memory_free(m);
    return status;
}

/* ---- costs ---- */

typedef struct Costing {
    const Image *image;
    const Palette *palette;
    Quick quick;
    QuickColour colour[PALETTE_MOST];
    uint16_t *cost;
} Costing;

/* Where the colours are all but alike, or their hues opposite, the quick square is not exact
 * enough. */
static void cell_costs(const Costing *k, Lab lab, uint16_t *cost)
{
    const QuickColour asked = quick_colour(lab);
    const int colours = k->palette->count;
    for (int first = 0; first < colours; first += QUICK_LANES) {
        uint8_t index[QUICK_LANES];
        float square[QUICK_LANES];
        for (int i = 0; i < QUICK_LANES; i++)
            index[i] = (uint8_t)(first + i < colours ? first + i : first);
        quick_squares(&k->quick, &asked, k->colour, index, square);
        for (int i = 0; i < QUICK_LANES && first + i < colours; i++) {
            const double e = square[i] >= 1.0f
                                 ? sqrt((double)square[i])
                                 : delta_e_2000(lab, k->palette->colour[first + i].lab);
            cost[first + i] = (uint16_t)fmin(TRANSPORT_NEVER - 1, floor(e * TRANSPORT_UNIT + 0.5));
        }
    }
}

static void cost_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    const Costing *k = context;
    const size_t colours = (size_t)k->palette->count, columns = (size_t)k->image->columns;
    for (int row = begin; row < end; row++)
        for (int column = 0; column < k->image->columns; column++)
            cell_costs(k, lab_from_xyz(image_at(k->image, column, row)),
                       k->cost + ((size_t)row * columns + (size_t)column) * colours);
}

Status transport_costs(const Image *image, const Palette *palette, int threads, const Voice *voice,
                       uint16_t **cost_out, Fault *fault)
{
    const size_t cells = (size_t)image->columns * (size_t)image->rows;
    const size_t row = (size_t)palette->count * sizeof(uint16_t);
    Costing *costing = memory_create(1, sizeof *costing);
    uint16_t *cost = memory_create(cells, row);
    if (!cost || !costing) {
        memory_free(costing);
        memory_free(cost);
        return memory_fault(fault, cells, row);
    }
    costing->image = image;
    costing->palette = palette;
    costing->cost = cost;
    quick_init(&costing->quick);
    for (int c = 0; c < palette->count; c++)
        costing->colour[c] = quick_colour(palette->colour[c].lab);
    bands_run_until(voice, threads, image->rows, 4, cost_rows, costing);
    memory_free(costing);
    if (!voice_stopped(voice)) {
        *cost_out = cost;
        return STATUS_OK;
    }
    memory_free(cost);
    return fault_set(fault, STATUS_INTERRUPTED, "plan: stopped from outside; run it again");
}
