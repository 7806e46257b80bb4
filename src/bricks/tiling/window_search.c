#include "bricks/tiling/window_search.h"

#include "base/memory.h"

#include <stdlib.h>

typedef struct Mending {
    const Region *region;
    ProfileDp *search;
    const int32_t *surplus;
    const WindowOptions *options;
    int32_t *tiling;
    int32_t *biased; /* surplus and bias of each place */
    int32_t *owner;  /* by cell: the first cell of its place */
    int32_t *stamp;  /* by cell: the last window that had it */
    int32_t *window; /* its cells, */
    int32_t *kept;   /* and their places, if these are taken back */
    int32_t count, now;
    int64_t before, before_biased; /* surplus of its places, and with bias */
    bool *tried;                   /* by cell: was in a window of this pass */
    int64_t total;                 /* surplus of the tiling */
    int64_t worth;                 /* surplus of a window from which on it is searched */
    int64_t work;
} Mending;

int64_t window_search_surplus(const Region *r, const int32_t *surplus, int32_t place)
{
    const bool bare = r->shapes->shape[r->shape[place]].size == SHAPE_BARE;
    return surplus[place] + (bare ? PROFILE_BARE : 0);
}

/* A number that looks drawn by lot, the same on every machine. */
static uint32_t scramble(uint32_t x)
{
    x = (x ^ x >> 16) * 0x7feb352dU;
    x = (x ^ x >> 15) * 0x846ca68bU;
    return x ^ x >> 16;
}

static void set_bias(Mending *m, int pass)
{
    const int64_t places = region_places(m->region);
    for (int64_t p = 0; p < places; p++) {
        const uint32_t lot = scramble((uint32_t)p * 64 + (uint32_t)pass) % WINDOW_BIAS;
        m->biased[p] = m->surplus[p] + (m->options->bias ? m->options->bias[p] : (int32_t)lot) +
                       (m->options->idle ? m->options->idle[p] : 0);
    }
}

static void own(Mending *m, int32_t first)
{
    const Region *r = m->region;
    const int s = r->shape[m->tiling[first]];
    int32_t row = first;
    for (int k = 0; k < r->high[s]; k++, row = r->above[row])
        for (int i = 0; i < r->wide[s]; i++) m->owner[row + i] = first;
}

/* Takes a place into the window. */
static void pull(Mending *m, int32_t first)
{
    const Region *r = m->region;
    const int s = r->shape[m->tiling[first]];
    int32_t row = first;
    for (int k = 0; k < r->high[s]; k++, row = r->above[row])
        for (int i = 0; i < r->wide[s]; i++) {
            m->stamp[row + i] = m->now;
            m->window[m->count++] = row + i;
        }
    m->before += window_search_surplus(r, m->surplus, m->tiling[first]);
    m->before_biased += window_search_surplus(r, m->biased, m->tiling[first]);
}

static int32_t neighbour(const Region *r, int32_t cell, int side)
{
    if (side == 0) return r->above[cell];
    if (side == 1) return r->below[cell];
    const int32_t next = side == 2 ? cell - 1 : cell + 1;
    const int apart = side == 2 ? -1 : 1;
    if (next < 0 || next >= r->cells || r->row[next] != r->row[cell]) return -1;
    return r->column[next] - r->column[cell] == apart ? next : -1;
}

static int ascending(const void *left, const void *right)
{
    const int32_t a = *(const int32_t *)left, b = *(const int32_t *)right;
    return (a > b) - (a < b);
}

/* Gathers whole places around one, breadth first. */
static void open_window(Mending *m, int32_t first)
{
    m->now++;
    m->count = 0;
    m->before = m->before_biased = 0;
    pull(m, first);
    for (int32_t i = 0; i < m->count && m->count < m->options->cells; i++)
        for (int side = 0; side < 4 && m->count < m->options->cells; side++) {
            const int32_t next = neighbour(m->region, m->window[i], side);
            if (next >= 0 && m->stamp[next] != m->now) pull(m, m->owner[next]);
        }
    for (int32_t i = 0; i < m->count; i++) m->tried[m->window[i]] = true;
    qsort(m->window, (size_t)m->count, sizeof *m->window, ascending);
}

static void relay(Mending *m, const ProfileResult *result)
{
    for (int32_t i = 0; i < m->count; i++) m->tiling[m->window[i]] = -1;
    for (int32_t i = 0; i < result->places; i++) {
        m->tiling[result->first[i]] = result->place[i];
        own(m, result->first[i]);
    }
}

static int32_t blemishes(const Mending *m)
{
    const WindowTaste *t = m->options->taste;
    return t ? t->blemishes(t->context, m->region, m->owner, m->window, m->count) : 0;
}

/* Lays the window as found, if that is better or as good; with a taste only if better. */
static void take(Mending *m, const ProfileResult *result)
{
    const int32_t marred = blemishes(m);
    int64_t after = 0;
    for (int32_t i = 0; i < result->places; i++)
        after += window_search_surplus(m->region, m->surplus, result->place[i]);
    if (after > m->before) return;
    for (int32_t i = 0; i < m->count; i++) m->kept[i] = m->tiling[m->window[i]];
    relay(m, result);
    if (!m->options->taste || after < m->before || blemishes(m) < marred) {
        m->total += after - m->before;
        return;
    }
    for (int32_t i = 0; i < m->count; i++) m->tiling[m->window[i]] = m->kept[i];
    for (int32_t i = 0; i < m->count; i++)
        if (m->kept[i] >= 0) own(m, m->window[i]);
}

/* False where there is nothing to gain, or, after the first pass, hardly anything. */
static bool is_worth_it(const Mending *m)
{
    if (m->options->taste) return blemishes(m) > 0;
    return m->options->bias || m->before >= m->worth;
}

static Status mend_window(Mending *m, int32_t first, Fault *fault)
{
    open_window(m, first);
    if (!is_worth_it(m)) return STATUS_OK;
    const ProfileTask task = {.region = m->region,
                              .surplus = m->biased,
                              .cell = m->window,
                              .cells = m->count,
                              .limit = m->before_biased,
                              .most = m->options->most};
    ProfileResult result;
    const Status status = profile_dp_run(m->search, &task, &result, fault);
    m->work += result.work;
    if (!status && result.found) take(m, &result);
    return status;
}

/* Visits cells in an order that jumps about, so that windows do not chase each other. */
static int32_t stride_of(int32_t cells)
{
    for (int32_t stride = (int32_t)(cells * 0.618) + 1;; stride++) {
        int32_t a = cells, b = stride;
        while (b) {
            const int32_t rest = a % b;
            a = b;
            b = rest;
        }
        if (a == 1) return stride;
    }
}

static Status run(Mending *m, Fault *fault)
{
    const Region *r = m->region;
    const int32_t stride = stride_of(r->cells);
    for (int32_t i = 0; i < r->cells; i++)
        if (m->tiling[i] >= 0) {
            m->total += window_search_surplus(r, m->surplus, m->tiling[i]);
            own(m, i);
        }
    for (int pass = 0; pass < m->options->passes; pass++) {
        set_bias(m, pass);
        m->worth = pass ? r->shapes->step * 3 / 2 : r->shapes->step;
        for (int32_t i = 0; i < r->cells; i++) m->tried[i] = false;
        for (int32_t i = 0; i < r->cells; i++) {
            if (!m->options->bias && !m->options->taste && m->total < r->shapes->step)
                return STATUS_OK;
            const int64_t at = ((int64_t)i * stride + pass * INT64_C(131)) % r->cells;
            if (m->tried[at] || (m->options->seed && !m->options->seed[at])) continue;
            const Status status = mend_window(m, m->owner[at], fault);
            if (status) return status;
        }
    }
    return STATUS_OK;
}

Status window_search(const Region *region, ProfileDp *search, const int32_t *surplus,
                     const WindowOptions *options, int32_t *tiling, int64_t *work, Fault *fault)
{
    const size_t cells = (size_t)region->cells;
    Mending m = {.region = region,
                 .search = search,
                 .surplus = surplus,
                 .options = options,
                 .tiling = tiling,
                 .biased = memory_create((size_t)region_places(region), sizeof *m.biased),
                 .owner = memory_create(cells, sizeof *m.owner),
                 .stamp = memory_create(cells, sizeof *m.stamp),
                 .window = memory_create(cells, sizeof *m.window),
                 .kept = memory_create(cells, sizeof *m.kept),
                 .tried = memory_create(cells, sizeof *m.tried)};
    const bool made = m.biased && m.owner && m.stamp && m.window && m.kept && m.tried;
    const Status status = made ? run(&m, fault) : memory_fault(fault, cells, sizeof *m.owner);
    memory_free(m.biased);
    memory_free(m.owner);
    memory_free(m.stamp);
    memory_free(m.window);
    memory_free(m.kept);
    memory_free(m.tried);
    *work += m.work;
    return status;
}
