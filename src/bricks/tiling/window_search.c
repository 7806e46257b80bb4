/* Large neighbourhood search over windows.
 *
 * Idea. Whole places around one are gathered, breadth first, until there are enough cells; the
 * window is laid anew by the profile program, which is exact for small ones. Reduced costs tell
 * where there is something to gain: a window whose places come to less than a step of cost cannot
 * become cheaper. A window laid anew at the same cost, but otherwise, is taken too: that moves what
 * is left to gain about, until it comes together in one window. Which of the equal ones is taken is
 * told by a bias of each place, drawn afresh for each pass.
 *
 * Invariants. The tiling always covers what it covered before, and never becomes dearer. Cells are
 * visited in a fixed order, and lots depend on place and pass alone: the same on every machine.
 *
 * Source. Shaw 1998, CP, LNCS 1520:417-431 (large neighbourhood search), from memory; the same for
 * bricks: Kollsker and Stidsen 2021, SN Oper. Res. Forum, doi:10.1007/s43069-021-00062-3. */
#include "bricks/tiling/window_search.h"

#include "base/memory.h"

typedef struct WindowSearch {
    const WindowTask *task;
    const Region *region;
    ProfileDp *dp;
    int32_t *tiling;
    int32_t *biased; /* reduced cost and bias of each place */
    int32_t *owner;  /* by cell: the first cell of its place */
    int32_t *stamp;  /* by cell: the last window that had it */
    int32_t *window; /* its cells, */
    int32_t *kept;   /* and their places, if these are taken back */
    int32_t count, now;
    int64_t before, before_biased; /* reduced cost of its places, and with bias */
    bool *tried;                   /* by cell: was in a window of this pass */
    int64_t total;                 /* reduced cost of the tiling */
    int64_t least_gain;            /* reduced cost of a window from which on it is laid anew */
    int64_t work;
} WindowSearch;

/* In steps of cost, the least gain of a window that is laid anew after the first pass: there is
 * more to be had elsewhere. */
static const int LATER_GAIN_NUMERATOR = 3, LATER_GAIN_DENOMINATOR = 2;

/* Successive visits lie this part of the region apart: the golden section spreads them best. */
static const double GOLDEN = 0.618;

/* Every pass begins so many cells further on. */
static const int64_t PASS_SHIFT = 131;

/* Reduced cost of a place, with what is added where it is a cell left bare. */
static int64_t with_bare(const Region *r, const int32_t *reduced_cost, int32_t place)
{
    const bool bare = r->shapes->shape[r->shape[place]].size == SHAPE_BARE;
    return reduced_cost[place] + (bare ? PROFILE_BARE : 0);
}

/* A number that looks drawn by lot, the same on every machine. */
static uint32_t scramble(uint32_t x)
{
    x = (x ^ x >> 16) * 0x7feb352dU;
    x = (x ^ x >> 15) * 0x846ca68bU;
    return x ^ x >> 16;
}

static void set_bias(WindowSearch *w, int pass)
{
    const int64_t places = region_places(w->region);
    for (int64_t p = 0; p < places; p++) {
        const uint32_t lot = scramble((uint32_t)p * 64 + (uint32_t)pass) % WINDOW_BIAS;
        w->biased[p] = w->task->reduced_cost[p] +
                       (w->task->bias ? w->task->bias[p] : (int32_t)lot) +
                       (w->task->idle ? w->task->idle[p] : 0);
    }
}

static void own(WindowSearch *w, int32_t first)
{
    const Region *r = w->region;
    const int s = r->shape[w->tiling[first]];
    int32_t row = first;
    for (int k = 0; k < r->high[s]; k++, row = r->above[row])
        for (int i = 0; i < r->wide[s]; i++) w->owner[row + i] = first;
}

/* Takes a place into the window. */
static void pull(WindowSearch *w, int32_t first)
{
    const Region *r = w->region;
    const int s = r->shape[w->tiling[first]];
    int32_t row = first;
    for (int k = 0; k < r->high[s]; k++, row = r->above[row])
        for (int i = 0; i < r->wide[s]; i++) {
            w->stamp[row + i] = w->now;
            w->window[w->count++] = row + i;
        }
    w->before += with_bare(r, w->task->reduced_cost, w->tiling[first]);
    w->before_biased += with_bare(r, w->biased, w->tiling[first]);
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

/* Gathers whole places around one, breadth first. */
static void open_window(WindowSearch *w, int32_t first)
{
    w->now++;
    w->count = 0;
    w->before = w->before_biased = 0;
    pull(w, first);
    for (int32_t i = 0; i < w->count && w->count < w->task->cells; i++)
        for (int side = 0; side < 4 && w->count < w->task->cells; side++) {
            const int32_t next = neighbour(w->region, w->window[i], side);
            if (next >= 0 && w->stamp[next] != w->now) pull(w, w->owner[next]);
        }
    for (int32_t i = 0; i < w->count; i++) w->tried[w->window[i]] = true;
    cells_sort(w->window, w->count);
}

static void relay(WindowSearch *w, const ProfileResult *result)
{
    for (int32_t i = 0; i < w->count; i++) w->tiling[w->window[i]] = -1;
    for (int32_t i = 0; i < result->places; i++) {
        w->tiling[result->first[i]] = result->place[i];
        own(w, result->first[i]);
    }
}

static int32_t defects(const WindowSearch *w)
{
    const WindowTieBreak *t = w->task->tie_break;
    return t ? t->defects(t->context, w->region, w->owner, w->window, w->count) : 0;
}

/* Lays the window as found, if that is cheaper or as cheap; with a tie-break, of as cheap ones only
 * if it has fewer defects. */
static void take_window(WindowSearch *w, const ProfileResult *result)
{
    const int32_t defects_before = defects(w);
    int64_t after = 0;
    for (int32_t i = 0; i < result->places; i++)
        after += with_bare(w->region, w->task->reduced_cost, result->place[i]);
    if (after > w->before) return;
    for (int32_t i = 0; i < w->count; i++) w->kept[i] = w->tiling[w->window[i]];
    relay(w, result);
    if (!w->task->tie_break || after < w->before || defects(w) < defects_before) {
        w->total += after - w->before;
        return;
    }
    for (int32_t i = 0; i < w->count; i++) w->tiling[w->window[i]] = w->kept[i];
    for (int32_t i = 0; i < w->count; i++)
        if (w->kept[i] >= 0) own(w, w->window[i]);
}

/* False where there is nothing to gain, or, after the first pass, hardly anything. */
static bool may_gain(const WindowSearch *w)
{
    if (w->task->tie_break) return defects(w) > 0;
    return w->task->bias || w->before >= w->least_gain;
}

static Status search_window(WindowSearch *w, int32_t first, Fault *fault)
{
    open_window(w, first);
    if (!may_gain(w)) return STATUS_OK;
    const ProfileTask task = {.region = w->region,
                              .reduced_cost = w->biased,
                              .cell = w->window,
                              .cells = w->count,
                              .limit = w->before_biased,
                              .most = w->task->most};
    ProfileResult result;
    const Status status = profile_dp_run(w->dp, &task, &result, fault);
    w->work += result.work;
    if (!status && result.found) take_window(w, &result);
    return status;
}

/* Cells are visited in an order that jumps about, so that windows do not chase each other: in
 * strides that have no divisor in common with the number of cells, and so reach all of them. */
static int32_t stride_of(int32_t cells)
{
    int32_t stride = (int32_t)(cells * GOLDEN) + 1;
    while (shapes_common_divisor(cells, stride) != 1) stride++;
    return stride;
}

/* True once nothing can be gained any more, and nothing else is asked for. */
static bool is_best(const WindowSearch *w)
{
    return !w->task->bias && !w->task->tie_break && w->total < w->region->step;
}

/* Cells between two questions whether to stop, where windows have nothing to gain. */
enum { OFTEN = 1 << 12 };

static Status search_pass(WindowSearch *w, int pass, int32_t stride, Fault *fault)
{
    const WindowTask *t = w->task;
    const Region *r = w->region;
    const int32_t step = r->step;
    set_bias(w, pass);
    w->least_gain = pass ? step * LATER_GAIN_NUMERATOR / LATER_GAIN_DENOMINATOR : step;
    for (int32_t i = 0; i < r->cells; i++) w->tried[i] = false;
    for (int32_t i = 0; i < r->cells; i++) {
        if (is_best(w)) return STATUS_OK;
        if (i % OFTEN == 0 && voice_stopped(profile_dp_voice(w->dp)))
            return fault_set(fault, STATUS_INTERRUPTED, "laying: stopped; run it again");
        const int64_t at = ((int64_t)i * stride + pass * PASS_SHIFT) % r->cells;
        if (w->tried[at] || (t->seed && !t->seed[at])) continue;
        const Status status = search_window(w, w->owner[at], fault);
        if (status) return status;
    }
    return STATUS_OK;
}

static Status search_passes(WindowSearch *w, Fault *fault)
{
    const Region *r = w->region;
    const int32_t stride = stride_of(r->cells);
    Status status = STATUS_OK;
    for (int32_t i = 0; i < r->cells; i++)
        if (w->tiling[i] >= 0) {
            w->total += with_bare(r, w->task->reduced_cost, w->tiling[i]);
            own(w, i);
        }
    for (int pass = 0; pass < w->task->passes && !status && !is_best(w); pass++)
        status = search_pass(w, pass, stride, fault);
    return status;
}

Status window_search(const WindowTask *task, ProfileDp *dp, int32_t *tiling, int64_t *work,
                     Fault *fault)
{
    const Region *region = task->region;
    const size_t cells = (size_t)region->cells;
    WindowSearch m = {.task = task,
                      .region = region,
                      .dp = dp,
                      .tiling = tiling,
                      .biased = memory_create((size_t)region_places(region), sizeof *m.biased),
                      .owner = memory_create(cells, sizeof *m.owner),
                      .stamp = memory_create(cells, sizeof *m.stamp),
                      .window = memory_create(cells, sizeof *m.window),
                      .kept = memory_create(cells, sizeof *m.kept),
                      .tried = memory_create(cells, sizeof *m.tried)};
    const bool made = m.biased && m.owner && m.stamp && m.window && m.kept && m.tried;
    const Status status =
        made ? search_passes(&m, fault) : memory_fault(fault, cells, sizeof *m.owner);
    memory_free(m.biased);
    memory_free(m.owner);
    memory_free(m.stamp);
    memory_free(m.window);
    memory_free(m.kept);
    memory_free(m.tried);
    *work += m.work;
    return status;
}
