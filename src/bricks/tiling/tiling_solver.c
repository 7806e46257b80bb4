#include "bricks/tiling/tiling_solver.h"

#include "base/memory.h"
#include "bricks/tiling/tiling_duals.h"
#include "bricks/tiling/window_search.h"

#include <math.h>
#include <string.h>

enum {
    SMALL = 25,              /* cells; searched without prices */
    MIDDLE = 400,            /* cells; the whole is searched with care */
    FIRST_STEPS = 40,        /* of prices, before the first look; */
    MORE_STEPS = 5,          /* times as many before the next */
    WINDOW = 200,            /* cells of a window; */
    TASTE_WINDOW = 36,       /* where it is judged by what it touches */
    NARROW_WINDOW = 90,      /* where searches must be quick or dense */
    MOST_OUTRIGHT = 4000,    /* profiles kept: without prices, */
    MOST_MIDDLE = 20,        /* for the whole of a region of middling size, at most, */
    MOST_LARGE = 14,         /* for the whole of a large one, at most, */
    MOST_WINDOW = 32,        /* for a window, at most, */
    MOST_AGAIN = 30,         /* for one that is laid once more, */
    MOST_COVER_WINDOW = 300, /* for one where cells are still bare, */
    MOST_COVER = 5000,       /* for the whole where they are, */
    IDLE = SHAPE_ONE / 6,    /* how much a search shuns a place that prices do not use */
    WORK_COVER = 10000000,   /* though no more than this over all cells */
    COVER_PASSES = 12,
    ROUNDS = 4,     /* of prices and mending, at most, */
    NEAR_BRICKS = 6 /* over the bound after the first: near enough, as is */
};
static const double NEAR_SHARE = 0.015; /* of it */

/* A region on its way to its solution. */
typedef struct Solving {
    const Region *region;
    ProfileDp *search;
    const TilingSolveOptions *options;
    TilingSolution *solution;
    int64_t floor;    /* sum of prices */
    int32_t *surplus; /* of each place */
    int32_t *idle;    /* of each place, how little the method of prices uses it */
    int32_t *guided;  /* surplus and that */
    int32_t *all;     /* every cell, as a task of the search */
} Solving;

/* With the effort prices take more steps, windows are mended more often and searches grow
 * wider; their widths above are those of the default. */
static const double USUAL = 0.25;

static int steps_of(double effort) { return (int)ceil(960 * effort); }

static int passes_of(double effort) { return (int)ceil(12 * effort); }

static int taste_passes_of(double effort) { return (int)ceil(32 * effort); }

static int32_t most_of(double effort, int32_t most) { return (int32_t)ceil(most * effort / USUAL); }

static int64_t cost_of(const Region *r, int32_t place)
{
    return r->shapes->shape[r->shape[place]].cost;
}

static void add_up(TilingSolution *s, const Region *r)
{
    s->cost = 0;
    s->bare = 0;
    for (int32_t i = 0; i < r->cells; i++) {
        if (s->tiling[i] < 0) continue;
        s->cost += cost_of(r, s->tiling[i]);
        s->bare += r->shapes->shape[r->shape[s->tiling[i]]].size == SHAPE_BARE;
    }
}

static int64_t round_up(const Region *r, int64_t bound)
{
    const int64_t step = r->shapes->step;
    return bound <= 0 ? 0 : (bound + step - 1) / step * step;
}

/* Prices to start from: a cell is worth its part of the place over it that is cheapest for
 * its area, so no place costs less than its cells are worth. Returns their sum. */
static int64_t price_by_area(const Region *r, int32_t *worth)
{
    int32_t each[SHAPES_MOST];
    for (int s = 0; s < r->shapes->count; s++)
        each[s] = r->shapes->shape[s].cost / (r->wide[s] * r->high[s]);
    for (int32_t i = 0; i < r->cells; i++) worth[i] = INT32_MAX;
    for (int32_t i = 0; i < r->cells; i++)
        for (int32_t p = r->first[i]; p < r->first[i + 1]; p++) {
            const int s = r->shape[p];
            int32_t row = i;
            for (int k = 0; k < r->high[s]; k++, row = r->above[row])
                for (int c = 0; c < r->wide[s]; c++)
                    if (worth[row + c] > each[s]) worth[row + c] = each[s];
        }
    int64_t sum = 0;
    for (int32_t i = 0; i < r->cells; i++) sum += worth[i];
    return sum;
}

/* What each place costs above the worth of its cells. */
static Status find_surplus(const Region *r, const int32_t *worth, int32_t *surplus, Fault *fault)
{
    int64_t *sums = memory_create((size_t)r->cells + 1, sizeof *sums);
    if (!sums) return memory_fault(fault, (size_t)r->cells + 1, sizeof *sums);
    region_sums(r, worth, sums);
    for (int32_t i = 0; i < r->cells; i++)
        for (int32_t p = r->first[i]; p < r->first[i + 1]; p++)
            surplus[p] = (int32_t)(cost_of(r, p) - region_sum(r, sums, i, r->shape[p]));
    memory_free(sums);
    return STATUS_OK;
}

static bool proven(const TilingSolution *s) { return !s->bare && s->bound >= s->cost; }

/* ---- the first tiling ---- */

static bool take_place(const Region *r, int32_t cell, int s, bool *taken)
{
    int32_t row = cell;
    for (int k = 0; k < r->high[s]; k++, row = r->above[row])
        for (int i = 0; i < r->wide[s]; i++)
            if (taken[row + i]) return false;
    for (int k = 0; k < r->high[s]; k++, cell = r->above[cell])
        for (int i = 0; i < r->wide[s]; i++) taken[cell + i] = true;
    return true;
}

/* The cells in the order of the layer; false: no memory. */
static bool layer_order(const Region *r, int32_t *order)
{
    for (int32_t i = 0; i < r->cells; i++) order[i] = i;
    if (!r->turned) return true;
    int32_t *start = memory_create((size_t)r->columns + 1, sizeof *start);
    if (!start) return false;
    for (int32_t i = 0; i < r->cells; i++) start[r->column[i] + 1]++;
    for (int32_t i = 0; i < r->columns; i++) start[i + 1] += start[i];
    for (int32_t i = 0; i < r->cells; i++) order[start[r->column[i]]++] = i;
    memory_free(start);
    return true;
}

static void lay_largest_first(const Region *r, const int32_t *order, int32_t *next, bool *taken,
                              int32_t *tiling)
{
    memcpy(next, r->first, (size_t)r->cells * sizeof *next);
    for (int32_t i = 0; i < r->cells; i++) tiling[i] = -1;
    for (int s = 0; s < r->shapes->count; s++)
        for (int32_t k = 0; k < r->cells; k++) {
            const int32_t i = order[k];
            if (next[i] == r->first[i + 1] || r->shape[next[i]] != s) continue;
            const int32_t place = next[i]++;
            if (!taken[i] && take_place(r, i, s, taken)) tiling[i] = place;
        }
}

/* Largest first: a shape goes wherever it fits, in the order of the layer, before any
 * smaller one. */
static Status start(Solving *v, Fault *fault)
{
    const Region *r = v->region;
    const size_t cells = (size_t)r->cells;
    int32_t *next = memory_create(cells, sizeof *next); /* place to be tried in each cell */
    int32_t *order = memory_create(cells, sizeof *order);
    bool *taken = memory_create(cells, sizeof *taken);
    const bool made = next && order && taken && layer_order(r, order);
    if (made) lay_largest_first(r, order, next, taken, v->solution->tiling);
    memory_free(next);
    memory_free(order);
    memory_free(taken);
    if (!made) return memory_fault(fault, cells, sizeof *next);
    add_up(v->solution, r);
    return STATUS_OK;
}

/* ---- the whole region at once ---- */

/* Takes over a tiling that a search has found, if it is better. */
static void take_found(Solving *v, const ProfileResult *found)
{
    const Region *r = v->region;
    TilingSolution *s = v->solution;
    int64_t cost = 0;
    int32_t bare = 0;
    for (int32_t i = 0; i < found->places; i++) {
        cost += cost_of(r, found->place[i]);
        bare += r->shapes->shape[r->shape[found->place[i]]].size == SHAPE_BARE;
    }
    if (bare > s->bare || (bare == s->bare && cost >= s->cost)) return;
    for (int32_t i = 0; i < r->cells; i++) s->tiling[i] = -1;
    for (int32_t i = 0; i < found->places; i++) s->tiling[found->first[i]] = found->place[i];
    s->cost = cost;
    s->bare = bare;
}

static Status search_whole(Solving *v, int32_t most, Fault *fault)
{
    const Region *r = v->region;
    TilingSolution *s = v->solution;
    const ProfileTask task = {.region = r,
                              .surplus = v->surplus,
                              .cell = v->all,
                              .cells = r->cells,
                              .limit =
                                  s->cost - v->floor - r->shapes->step + s->bare * PROFILE_BARE,
                              .most = most};
    if (task.limit < 0) return STATUS_OK;
    ProfileResult result;
    const Status status = profile_dp_run(v->search, &task, &result, fault);
    s->work += result.work;
    if (status) return status;
    if (result.found) take_found(v, &result);
    if (result.exact) {
        s->settled = true;
        s->bound = s->cost;
    }
    return STATUS_OK;
}

/* A search that shuns places that prices do not use: it proves nothing, but where not all
 * can be kept it keeps what leads further. */
static Status search_guided(Solving *v, int32_t most, Fault *fault)
{
    const Region *r = v->region;
    TilingSolution *s = v->solution;
    ProfileTask task = {.region = r,
                        .surplus = v->guided,
                        .cell = v->all,
                        .cells = r->cells,
                        .limit = s->cost - v->floor - r->shapes->step + s->bare * PROFILE_BARE,
                        .most = most};
    if (task.limit < 0) return STATUS_OK;
    for (int64_t p = 0; p < region_places(r); p++) v->guided[p] = v->surplus[p] + v->idle[p];
    for (int32_t i = 0; i < r->cells; i++)
        if (s->tiling[i] >= 0) task.limit += v->idle[s->tiling[i]];
    ProfileResult result;
    const Status status = profile_dp_run(v->search, &task, &result, fault);
    s->work += result.work;
    if (!status && result.found) take_found(v, &result);
    return status;
}

/* ---- prices ---- */

/* Settles the prices; keeps the better bound. */
static void settle(Solving *v, TilingDuals *price)
{
    const int64_t floor = tiling_duals_settle(price, v->solution->worth);
    memcpy(v->surplus, tiling_duals_surplus(price),
           (size_t)region_places(v->region) * sizeof *v->surplus);
    tiling_duals_idle(price, IDLE, v->idle);
    v->floor = floor;
    const int64_t bound = round_up(v->region, floor);
    if (bound > v->solution->bound) v->solution->bound = bound;
}

/* After how many steps of prices it is worth a look whether the best is proven; in a large
 * region it hardly ever is early on. */
static int next_look(const Region *r, int done, int steps)
{
    const int first = r->cells <= MIDDLE ? FIRST_STEPS : MORE_STEPS * FIRST_STEPS;
    const int goal = done ? MORE_STEPS * done : first;
    return 2 * goal <= steps ? goal : steps;
}

static void take_steps(Solving *v, TilingDuals *price, int steps)
{
    tiling_duals_improve(price, steps);
    v->solution->work += tiling_duals_effort(price) * steps;
    settle(v, price);
}

static Status look(Solving *v, Fault *fault)
{
    const double effort = v->options->effort;
    return v->region->cells <= MIDDLE ? search_whole(v, most_of(effort, MOST_MIDDLE), fault)
                                      : search_guided(v, most_of(effort, MOST_LARGE), fault);
}

static Status mend_all(Solving *v, Fault *fault)
{
    TilingSolution *s = v->solution;
    if (proven(s)) return STATUS_OK;
    const WindowOptions options = {.passes = passes_of(v->options->effort),
                                   .cells = WINDOW,
                                   .most = most_of(v->options->effort, MOST_WINDOW),
                                   .idle = v->idle};
    const Status status =
        window_search(v->region, v->search, v->surplus, &options, s->tiling, &s->work, fault);
    add_up(s, v->region);
    return status;
}

/* Whether it is not worth to go on; the longer it took so far the less is. */
static bool is_near(const Region *r, const TilingSolution *s, int rounds)
{
    const int64_t over = s->cost - s->bound;
    return over <= rounds * NEAR_BRICKS * r->shapes->step ||
           (double)over <= NEAR_SHARE * (double)s->bound;
}

/* Where the tiling is still far from the bound, both are taken further. */
static Status improve(Solving *v, TilingDuals *price, Fault *fault)
{
    const double effort = v->options->effort;
    const int steps = steps_of(effort), most = effort < USUAL ? 1 : ROUNDS;
    Status status = STATUS_OK;
    for (int done = 0; done < steps && !status && !proven(v->solution);) {
        const int goal = next_look(v->region, done, steps);
        take_steps(v, price, goal - done);
        done = goal;
        if (!proven(v->solution)) status = look(v, fault);
    }
    if (!status) status = mend_all(v, fault);
    for (int i = 1; i < most && !status && !is_near(v->region, v->solution, i); i++) {
        take_steps(v, price, steps);
        status = mend_all(v, fault);
    }
    return status;
}

/* Where the set has no 1x1 and cells are bare: searches ever larger windows for a way
 * to cover them all, then the whole. */
static Status cover(Solving *v, Fault *fault)
{
    TilingSolution *s = v->solution;
    Status status = STATUS_OK;
    for (int32_t cells = 2 * NARROW_WINDOW; s->bare && !status; cells *= 4) {
        const WindowOptions options = {
            .passes = COVER_PASSES, .cells = cells, .most = MOST_COVER_WINDOW};
        status =
            window_search(v->region, v->search, v->surplus, &options, s->tiling, &s->work, fault);
        add_up(s, v->region);
        if (cells >= v->region->cells) break;
    }
    if (!s->bare || status) return status;
    const int32_t most = WORK_COVER / v->region->cells;
    return search_whole(v, most < 1 ? 1 : most < MOST_COVER ? most : MOST_COVER, fault);
}

/* ---- joints over joints ---- */

static bool parts(const int32_t *below, const Region *r, int32_t a, int32_t b)
{
    return a < 0 || b < 0 || below[r->cell[a]] != below[r->cell[b]];
}

/* How much of the place's outline lies over joints of the layer below, in parts of
 * WINDOW_BIAS. */
static int32_t over_joints(const Solving *v, int32_t cell, int s)
{
    const Region *r = v->region;
    const int32_t *below = v->options->below;
    int over = 0;
    int32_t row = cell;
    for (int k = 0; k < r->high[s]; k++, row = r->above[row]) {
        const int32_t last = row + r->wide[s] - 1;
        const bool left =
            row > 0 && r->row[row - 1] == r->row[row] && r->column[row - 1] == r->column[row] - 1;
        const bool right = last + 1 < r->cells && r->row[last + 1] == r->row[row] &&
                           r->column[last + 1] == r->column[last] + 1;
        over += parts(below, r, left ? row - 1 : -1, row) +
                parts(below, r, last, right ? last + 1 : -1);
        for (int i = 0; i < r->wide[s]; i++) {
            if (k == 0) over += parts(below, r, r->below[row + i], row + i);
            if (k == r->high[s] - 1) over += parts(below, r, row + i, r->above[row + i]);
        }
    }
    return (int32_t)((int64_t)over * WINDOW_BIAS / (2 * (r->wide[s] + r->high[s])));
}

/* Among tilings of the same cost prefers one whose joints lie over bricks. */
static Status bridge(Solving *v, Fault *fault)
{
    const Region *r = v->region;
    int32_t *bias = memory_create((size_t)region_places(r), sizeof *bias);
    if (!bias) return memory_fault(fault, (size_t)region_places(r), sizeof *bias);
    for (int32_t i = 0; i < r->cells; i++)
        for (int32_t p = r->first[i]; p < r->first[i + 1]; p++)
            bias[p] = over_joints(v, i, r->shape[p]);
    const WindowOptions options = {
        .passes = 1, .cells = 2 * NARROW_WINDOW, .most = MOST_AGAIN, .bias = bias};
    const Status status = window_search(r, v->search, v->surplus, &options, v->solution->tiling,
                                        &v->solution->work, fault);
    add_up(v->solution, r);
    memory_free(bias);
    return status;
}

/* ---- all together ---- */

static Status run(Solving *v, Fault *fault)
{
    const Region *r = v->region;
    for (int32_t i = 0; i < r->cells; i++) v->all[i] = i;
    Status status = start(v, fault);
    v->floor = price_by_area(r, v->solution->worth);
    v->solution->bound = round_up(r, v->floor);
    /* Where prices follow they bring their own surplus. */
    const bool priced = v->options->effort > 0 && r->cells > SMALL && !proven(v->solution);
    if (!status && !priced) status = find_surplus(r, v->solution->worth, v->surplus, fault);
    if (!status && r->cells <= SMALL && !proven(v->solution))
        status = search_whole(v, MOST_OUTRIGHT, fault);
    if (!status && v->options->effort > 0 && !proven(v->solution) && !v->solution->settled) {
        TilingDuals *price;
        status = tiling_duals_create(&price, r, fault);
        if (!status) status = improve(v, price, fault);
        tiling_duals_free(price);
    }
    if (!status && v->options->cover && v->solution->bare && !v->solution->settled)
        status = cover(v, fault);
    if (!status && !v->solution->bare && v->options->below) status = bridge(v, fault);
    return status;
}

Status tiling_solve(TilingSolution *solution_out, const Region *region, ProfileDp *search,
                    const TilingSolveOptions *options, Fault *fault)
{
    const size_t cells = (size_t)region->cells;
    *solution_out = (TilingSolution){.tiling = memory_create(cells, sizeof *solution_out->tiling),
                                     .worth = memory_create(cells, sizeof *solution_out->worth)};
    Solving v = {.region = region,
                 .search = search,
                 .options = options,
                 .solution = solution_out,
                 .surplus = memory_create((size_t)region_places(region), sizeof *v.surplus),
                 .idle = memory_create((size_t)region_places(region), sizeof *v.idle),
                 .guided = memory_create((size_t)region_places(region), sizeof *v.guided),
                 .all = memory_create(cells, sizeof *v.all)};
    const bool made =
        solution_out->tiling && solution_out->worth && v.surplus && v.idle && v.guided && v.all;
    const Status status = made ? run(&v, fault) : memory_fault(fault, cells, sizeof *v.all);
    memory_free(v.surplus);
    memory_free(v.idle);
    memory_free(v.guided);
    memory_free(v.all);
    if (status) tiling_solution_clear(solution_out);
    return status;
}

void tiling_solution_clear(TilingSolution *solution)
{
    memory_free(solution->tiling);
    memory_free(solution->worth);
    *solution = (TilingSolution){0};
}

static Status lay_again(int32_t *tiling, const Region *region, ProfileDp *search,
                        const int32_t *worth, const WindowOptions *options, Fault *fault)
{
    const size_t places = (size_t)region_places(region);
    int32_t *surplus = memory_create(places, sizeof *surplus);
    if (!surplus) return memory_fault(fault, places, sizeof *surplus);
    int64_t work = 0;
    Status status = find_surplus(region, worth, surplus, fault);
    if (!status) status = window_search(region, search, surplus, options, tiling, &work, fault);
    memory_free(surplus);
    return status;
}

Status tiling_solve_again(int32_t *tiling, const Region *region, ProfileDp *search, double effort,
                          const int32_t *worth, const int32_t *bias, const bool *seed, Fault *fault)
{
    const bool full = effort >= USUAL;
    const WindowOptions options = {.passes = full ? 2 : 1,
                                   .cells = full ? WINDOW : NARROW_WINDOW,
                                   .most = full ? MOST_WINDOW : MOST_AGAIN,
                                   .bias = bias,
                                   .seed = seed};
    return lay_again(tiling, region, search, worth, &options, fault);
}

Status tiling_solve_to_taste(int32_t *tiling, const Region *region, ProfileDp *search,
                             double effort, const int32_t *worth, const WindowTaste *taste,
                             const bool *seed, Fault *fault)
{
    const WindowOptions options = {.passes = taste_passes_of(effort),
                                   .cells = TASTE_WINDOW,
                                   .most = MOST_AGAIN,
                                   .taste = taste,
                                   .seed = seed};
    return lay_again(tiling, region, search, worth, &options, fault);
}

Status tiling_solve_bound(int64_t *bound_out, const Region *region, double effort, Fault *fault)
{
    TilingDuals *price = NULL;
    int32_t *worth = memory_create((size_t)region->cells, sizeof *worth);
    if (!worth) return memory_fault(fault, (size_t)region->cells, sizeof *worth);
    *bound_out = round_up(region, price_by_area(region, worth));
    const Status status = effort > 0 ? tiling_duals_create(&price, region, fault) : STATUS_OK;
    if (!status && effort > 0) {
        tiling_duals_improve(price, steps_of(effort));
        *bound_out = round_up(region, tiling_duals_settle(price, worth));
    }
    tiling_duals_free(price);
    memory_free(worth);
    return status;
}
