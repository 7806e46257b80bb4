/* Set partitioning for one region: bound, search, and improvement window by window.
 *
 * Idea. Small regions are searched outright. For others duals are found (tiling_duals.h), which
 * bound the cost and, as reduced costs, guide a search of the whole region (profile_dp.h), exact
 * where it is narrow or the duals good; what is left to gain is sought window by window
 * (window_search.h). It ends as soon as the cost is proven the least, or near enough.
 *
 * Invariants. The bound never exceeds what any tiling costs. Work is counted, not timed, and every
 * limit is one of work, so that the result is the same on every machine.
 *
 * Source. The steps' own sources; bounding and search by reduced costs: as in branch and price
 * (Barnhart et al. 1998, Oper. Res. 46:316-329, from memory). */
#include "bricks/tiling/tiling_solver.h"

#include "base/memory.h"
#include "bricks/tiling/tiling_duals.h"
#include "bricks/tiling/window_search.h"

#include <math.h>
#include <string.h>

/* Regions, windows and widths of search, by trial on the fields of tests/bench/bench_tile. Halved
 * or doubled, one at a time, those of regions and windows that the default set meets change the
 * bricks of the pictures by 0.02 % at most, those of waves by 0.8 % (WINDOW_CELLS) and 0.3 %
 * (others). */
enum {
    SMALL_REGION = 25,        /* cells; searched without duals */
    MIDDLE_REGION = 400,      /* cells; the whole is searched with care */
    WINDOW_CELLS = 200,       /* of a window; */
    TIE_BREAK_WINDOW = 36,    /* where it is judged by what it touches */
    NARROW_WINDOW = 90,       /* where searches must be quick or dense */
    MOST_OUTRIGHT = 4000,     /* profiles kept: without duals, */
    MOST_MIDDLE = 20,         /* for the whole of a region of middling size, at most, */
    MOST_LARGE = 14,          /* for the whole of a large one, at most, */
    MOST_WINDOW = 32,         /* for a window, at most, */
    MOST_AGAIN = 30,          /* for one that is laid once more, */
    MOST_COVER_WINDOW = 300,  /* for one where cells are still bare, */
    MOST_COVER = 5000,        /* for the whole where they are, */
    COVER_WORK = 10000000,    /* though no more than this over all cells */
    COVER_PASSES = 12,        /* over the windows where cells are still bare */
    COVER_GROWTH = 4,         /* times as many cells in the next windows */
    IDLE_COST = SHAPE_ONE / 6 /* added to a place whose primal is 0, in a guided search */
};

/* Steps and rounds, by the same: 0.01 % of pictures, 0.2 % of waves. Twice the STEPS_AT_FULL take
 * nearly twice the work, half of them half of it, for a bound of waves that is 0.2 % better or 0.5
 * % worse. */
enum {
    FIRST_STEPS = 40,        /* before the first search; */
    MORE_STEPS = 5,          /* times as many before the next */
    STEPS_AT_FULL = 960,     /* in all, at an effort of 1 */
    PASSES_AT_FULL = 12,     /* over the windows */
    TIE_BREAKS_AT_FULL = 32, /* passes over small windows */
    ROUNDS = 4,              /* of duals and windows, at most, */
    NEAR_STEPS = 6           /* of cost over the bound after the first: near enough, as is */
};
static const double NEAR_SHARE = 0.015; /* of the bound */

/* The effort at which searches have the widths above. With more effort duals take more steps,
 * windows are laid more often and searches grow wider. */
static const double USUAL_EFFORT = 0.25;

/* A region on its way to its solution. */
typedef struct RegionSolve {
    const Region *region;
    ProfileDp *dp;
    const TilingSolveOptions *options;
    TilingSolution *solution;
    int64_t dual_sum;
    int32_t *reduced_cost; /* of each place */
    int32_t *idle;         /* of each place, see tiling_duals.h */
    int32_t *guided;       /* the sum of these two */
    int32_t *all;          /* every cell, as a task of the search */
    int32_t *other;        /* scratch: a tiling */
} RegionSolve;

static int steps_of(double effort) { return (int)ceil(STEPS_AT_FULL * effort); }

static int passes_of(double effort) { return (int)ceil(PASSES_AT_FULL * effort); }

static int tie_break_passes_of(double effort) { return (int)ceil(TIE_BREAKS_AT_FULL * effort); }

static int32_t most_of(double effort, int32_t most)
{
    return (int32_t)ceil(most * effort / USUAL_EFFORT);
}

/* What the lines cost that no place of a tiling crosses. */
static int64_t line_costs(const Region *r, const int32_t *tiling)
{
    int64_t sum = 0;
    int32_t crossed = 0; /* rows up to here */
    for (int32_t i = 0; r->line && i < r->cells; i++) {
        if (i > 0 && r->row[i] > r->row[i - 1] && r->row[i] > crossed) sum += r->line[r->row[i]];
        if (tiling[i] < 0) continue;
        const int32_t last = r->row[i] + r->high[r->shape[tiling[i]]] - 1;
        if (last > crossed) crossed = last;
    }
    return sum;
}

static void add_up(TilingSolution *s, const Region *r)
{
    s->cost = 0;
    s->bare = 0;
    for (int32_t i = 0; i < r->cells; i++) {
        if (s->tiling[i] < 0) continue;
        s->cost += region_cost(r, s->tiling[i]);
        s->bare += r->shapes->shape[r->shape[s->tiling[i]]].size == SHAPE_BARE;
    }
    s->cost += line_costs(r, s->tiling);
}

static int64_t round_up(const Region *r, int64_t bound)
{
    const int64_t step = r->step;
    return bound <= 0 ? 0 : (bound + step - 1) / step * step;
}

/* Duals to start from: a cell is worth its part of the place over it that is cheapest for its
 * area, so no place costs less than its cells are worth. Returns their sum. */
static int64_t duals_by_area(const Region *r, int32_t *dual)
{
    int32_t each[SHAPES_MOST];
    for (int s = 0; s < r->shapes->count; s++)
        each[s] = r->shapes->shape[s].cost / (r->wide[s] * r->high[s]);
    for (int32_t i = 0; i < r->cells; i++) dual[i] = INT32_MAX;
    for (int32_t i = 0; i < r->cells; i++)
        for (int32_t p = r->first[i]; p < r->first[i + 1]; p++) {
            const int s = r->shape[p];
            int32_t row = i;
            for (int k = 0; k < r->high[s]; k++, row = r->above[row])
                for (int c = 0; c < r->wide[s]; c++)
                    if (dual[row + c] > each[s]) dual[row + c] = each[s];
        }
    int64_t sum = 0;
    for (int32_t i = 0; i < r->cells; i++) sum += dual[i];
    return sum;
}

/* What each place costs above the duals of its cells. */
static Status find_reduced_costs(const Region *r, const int32_t *dual, int32_t *reduced_cost,
                                 Fault *fault)
{
    int64_t *sums = memory_create((size_t)r->cells + 1, sizeof *sums);
    if (!sums) return memory_fault(fault, (size_t)r->cells + 1, sizeof *sums);
    region_sums(r, dual, sums);
    for (int32_t i = 0; i < r->cells; i++)
        for (int32_t p = r->first[i]; p < r->first[i + 1]; p++)
            reduced_cost[p] = (int32_t)(region_cost(r, p) - region_sum(r, sums, i, r->shape[p]));
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
static Status lay_greedily(RegionSolve *v, Fault *fault)
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
static void take_found(RegionSolve *v, const ProfileResult *found)
{
    const Region *r = v->region;
    TilingSolution *s = v->solution, other = {.tiling = v->other};
    for (int32_t i = 0; i < r->cells; i++) other.tiling[i] = -1;
    for (int32_t i = 0; i < found->places; i++) other.tiling[found->first[i]] = found->place[i];
    add_up(&other, r);
    if (other.bare > s->bare || (other.bare == s->bare && other.cost >= s->cost)) return;
    memcpy(s->tiling, other.tiling, (size_t)r->cells * sizeof *s->tiling);
    s->cost = other.cost;
    s->bare = other.bare;
}

static Status search_whole(RegionSolve *v, int32_t most, Fault *fault)
{
    const Region *r = v->region;
    TilingSolution *s = v->solution;
    const ProfileTask task = {.region = r,
                              .reduced_cost = v->reduced_cost,
                              .cell = v->all,
                              .cells = r->cells,
                              .line = r->line,
                              .limit = s->cost - v->dual_sum - r->step + s->bare * PROFILE_BARE,
                              .most = most};
    if (task.limit < 0) return STATUS_OK;
    ProfileResult result;
    const Status status = profile_dp_run(v->dp, &task, &result, fault);
    s->work += result.work;
    if (status) return status;
    if (result.found) take_found(v, &result);
    if (result.exact) {
        s->settled = true;
        s->bound = s->cost;
    }
    return STATUS_OK;
}

/* A search that avoids places whose primals are small: it proves nothing, but where not all
 * profiles can be kept it keeps those that lead further. */
static Status search_guided(RegionSolve *v, int32_t most, Fault *fault)
{
    const Region *r = v->region;
    TilingSolution *s = v->solution;
    ProfileTask task = {.region = r,
                        .reduced_cost = v->guided,
                        .cell = v->all,
                        .cells = r->cells,
                        .limit = s->cost - v->dual_sum - r->step + s->bare * PROFILE_BARE,
                        .most = most};
    if (task.limit < 0) return STATUS_OK;
    for (int64_t p = 0; p < region_places(r); p++) v->guided[p] = v->reduced_cost[p] + v->idle[p];
    for (int32_t i = 0; i < r->cells; i++)
        if (s->tiling[i] >= 0) task.limit += v->idle[s->tiling[i]];
    ProfileResult result;
    const Status status = profile_dp_run(v->dp, &task, &result, fault);
    s->work += result.work;
    if (!status && result.found) take_found(v, &result);
    return status;
}

/* ---- duals ---- */

/* Takes over the duals reached, made feasible; keeps the better bound. */
static void take_duals(RegionSolve *v, TilingDuals *duals)
{
    const int64_t dual_sum = tiling_duals_make_feasible(duals, v->solution->dual);
    memcpy(v->reduced_cost, tiling_duals_reduced_costs(duals),
           (size_t)region_places(v->region) * sizeof *v->reduced_cost);
    tiling_duals_idle(duals, IDLE_COST, v->idle);
    v->dual_sum = dual_sum;
    const int64_t bound = round_up(v->region, dual_sum);
    if (bound > v->solution->bound) v->solution->bound = bound;
}

/* After how many steps of the duals to search next, whether the best is proven; in a large region
 * it hardly ever is early on. */
static int next_search(const Region *r, int done, int steps)
{
    const int first = r->cells <= MIDDLE_REGION ? FIRST_STEPS : MORE_STEPS * FIRST_STEPS;
    const int goal = done ? MORE_STEPS * done : first;
    return 2 * goal <= steps ? goal : steps;
}

static void improve_duals(RegionSolve *v, TilingDuals *duals, int steps)
{
    tiling_duals_improve(duals, steps, profile_dp_voice(v->dp));
    v->solution->work += tiling_duals_effort(duals) * steps;
    take_duals(v, duals);
}

static Status search_once(RegionSolve *v, Fault *fault)
{
    const double effort = v->options->effort;
    return v->region->cells <= MIDDLE_REGION ? search_whole(v, most_of(effort, MOST_MIDDLE), fault)
                                             : search_guided(v, most_of(effort, MOST_LARGE), fault);
}

static Status search_windows(RegionSolve *v, Fault *fault)
{
    TilingSolution *s = v->solution;
    if (proven(s)) return STATUS_OK;
    const WindowTask task = {.region = v->region,
                             .reduced_cost = v->reduced_cost,
                             .passes = passes_of(v->options->effort),
                             .cells = WINDOW_CELLS,
                             .most = most_of(v->options->effort, MOST_WINDOW),
                             .idle = v->idle};
    const Status status = window_search(&task, v->dp, s->tiling, &s->work, fault);
    add_up(s, v->region);
    return status;
}

/* Whether the tiling is near enough to the bound; the longer it took so far the sooner it is. */
static bool is_near(const Region *r, const TilingSolution *s, int rounds)
{
    const int64_t over = s->cost - s->bound;
    return over <= rounds * NEAR_STEPS * r->step || (double)over <= NEAR_SHARE * (double)s->bound;
}

/* Where the tiling is still far from the bound, both are taken further. */
static Status improve_tiling(RegionSolve *v, TilingDuals *duals, Fault *fault)
{
    const double effort = v->options->effort;
    const int steps = steps_of(effort), most = effort < USUAL_EFFORT ? 1 : ROUNDS;
    Status status = STATUS_OK;
    for (int done = 0; done < steps && !status && !proven(v->solution);) {
        const int goal = next_search(v->region, done, steps);
        improve_duals(v, duals, goal - done);
        done = goal;
        if (!proven(v->solution)) status = search_once(v, fault);
    }
    if (!status) status = search_windows(v, fault);
    for (int i = 1; i < most && !status && !is_near(v->region, v->solution, i); i++) {
        improve_duals(v, duals, steps);
        status = search_windows(v, fault);
    }
    return status;
}

/* Where the set has no 1x1 and cells are bare: searches ever larger windows for a way
 * to cover them all, then the whole. */
static Status cover_bare(RegionSolve *v, Fault *fault)
{
    TilingSolution *s = v->solution;
    Status status = STATUS_OK;
    for (int32_t cells = 2 * NARROW_WINDOW; s->bare && !status; cells *= COVER_GROWTH) {
        const WindowTask task = {.region = v->region,
                                 .reduced_cost = v->reduced_cost,
                                 .passes = COVER_PASSES,
                                 .cells = cells,
                                 .most = MOST_COVER_WINDOW};
        status = window_search(&task, v->dp, s->tiling, &s->work, fault);
        add_up(s, v->region);
        if (cells >= v->region->cells) break;
    }
    if (!s->bare || status) return status;
    const int32_t most = COVER_WORK / v->region->cells;
    return search_whole(v, most < 1 ? 1 : most < MOST_COVER ? most : MOST_COVER, fault);
}

/* ---- joints over joints ---- */

static bool parts_bricks(const int32_t *below, const Region *r, int32_t a, int32_t b)
{
    return a < 0 || b < 0 || below[r->cell[a]] != below[r->cell[b]];
}

/* How much of the place's outline lies over joints of the layer below, in parts of
 * WINDOW_BIAS. */
static int32_t share_over_joints(const RegionSolve *v, int32_t cell, int s)
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
        over += parts_bricks(below, r, left ? row - 1 : -1, row) +
                parts_bricks(below, r, last, right ? last + 1 : -1);
        for (int i = 0; i < r->wide[s]; i++) {
            if (k == 0) over += parts_bricks(below, r, r->below[row + i], row + i);
            if (k == r->high[s] - 1) over += parts_bricks(below, r, row + i, r->above[row + i]);
        }
    }
    return (int32_t)((int64_t)over * WINDOW_BIAS / (2 * (r->wide[s] + r->high[s])));
}

/* Among tilings of the same cost prefers one whose joints lie over bricks. */
static Status prefer_over_bricks(RegionSolve *v, Fault *fault)
{
    const Region *r = v->region;
    int32_t *bias = memory_create((size_t)region_places(r), sizeof *bias);
    if (!bias) return memory_fault(fault, (size_t)region_places(r), sizeof *bias);
    for (int32_t i = 0; i < r->cells; i++)
        for (int32_t p = r->first[i]; p < r->first[i + 1]; p++)
            bias[p] = share_over_joints(v, i, r->shape[p]);
    const WindowTask task = {.region = r,
                             .reduced_cost = v->reduced_cost,
                             .passes = 1,
                             .cells = 2 * NARROW_WINDOW,
                             .most = MOST_AGAIN,
                             .bias = bias};
    const Status status =
        window_search(&task, v->dp, v->solution->tiling, &v->solution->work, fault);
    add_up(v->solution, r);
    memory_free(bias);
    return status;
}

/* ---- all together ---- */

static Status solve_region(RegionSolve *v, Fault *fault)
{
    const Region *r = v->region;
    for (int32_t i = 0; i < r->cells; i++) v->all[i] = i;
    Status status = lay_greedily(v, fault);
    v->dual_sum = duals_by_area(r, v->solution->dual);
    v->solution->bound = round_up(r, v->dual_sum);
    /* Where duals follow they bring their own reduced costs. */
    const bool dualised = v->options->effort > 0 && r->cells > SMALL_REGION && !proven(v->solution);
    if (!status && !dualised)
        status = find_reduced_costs(r, v->solution->dual, v->reduced_cost, fault);
    if (!status && r->cells <= SMALL_REGION && !proven(v->solution))
        status = search_whole(v, MOST_OUTRIGHT, fault);
    if (!status && v->options->effort > 0 && !proven(v->solution) && !v->solution->settled) {
        TilingDuals *duals;
        status = tiling_duals_create(&duals, r, fault);
        if (!status) status = improve_tiling(v, duals, fault);
        tiling_duals_free(duals);
    }
    if (!status && v->options->cover && v->solution->bare && !v->solution->settled)
        status = cover_bare(v, fault);
    if (!status && !v->solution->bare && v->options->below) status = prefer_over_bricks(v, fault);
    return status;
}

Status tiling_solve(TilingSolution *solution_out, const Region *region, ProfileDp *dp,
                    const TilingSolveOptions *options, Fault *fault)
{
    const size_t cells = (size_t)region->cells;
    *solution_out = (TilingSolution){.tiling = memory_create(cells, sizeof *solution_out->tiling),
                                     .dual = memory_create(cells, sizeof *solution_out->dual)};
    RegionSolve v = {.region = region,
                     .dp = dp,
                     .options = options,
                     .solution = solution_out,
                     .reduced_cost =
                         memory_create((size_t)region_places(region), sizeof *v.reduced_cost),
                     .idle = memory_create((size_t)region_places(region), sizeof *v.idle),
                     .guided = memory_create((size_t)region_places(region), sizeof *v.guided),
                     .all = memory_create(cells, sizeof *v.all),
                     .other = memory_create(cells, sizeof *v.other)};
    const bool made = solution_out->tiling && solution_out->dual && v.reduced_cost && v.idle &&
                      v.guided && v.all && v.other;
    const Status status =
        made ? solve_region(&v, fault) : memory_fault(fault, cells, sizeof *v.all);
    memory_free(v.reduced_cost);
    memory_free(v.idle);
    memory_free(v.guided);
    memory_free(v.all);
    memory_free(v.other);
    if (status) tiling_solution_clear(solution_out);
    return status;
}

void tiling_solution_clear(TilingSolution *solution)
{
    memory_free(solution->tiling);
    memory_free(solution->dual);
    *solution = (TilingSolution){0};
}

Status tiling_solve_again(int32_t *tiling, const Region *region, ProfileDp *dp,
                          const TilingPreference *preference, Fault *fault)
{
    const size_t places = (size_t)region_places(region);
    int32_t *reduced_cost = memory_create(places, sizeof *reduced_cost);
    if (!reduced_cost) return memory_fault(fault, places, sizeof *reduced_cost);
    const bool full = preference->effort >= USUAL_EFFORT;
    WindowTask task = {.region = region,
                       .reduced_cost = reduced_cost,
                       .passes = full ? 2 : 1,
                       .cells = full ? WINDOW_CELLS : NARROW_WINDOW,
                       .most = full ? MOST_WINDOW : MOST_AGAIN,
                       .bias = preference->bias,
                       .tie_break = preference->tie_break,
                       .seed = preference->seed};
    if (preference->tie_break) {
        task.passes = tie_break_passes_of(preference->effort);
        task.cells = TIE_BREAK_WINDOW;
        task.most = MOST_AGAIN;
    }
    int64_t work = 0;
    Status status = find_reduced_costs(region, preference->dual, reduced_cost, fault);
    if (!status) status = window_search(&task, dp, tiling, &work, fault);
    memory_free(reduced_cost);
    return status;
}

Status tiling_solve_bound(int64_t *bound_out, int32_t *dual_out, const Region *region,
                          double effort, const Voice *voice, Fault *fault)
{
    TilingDuals *duals = NULL;
    *bound_out = round_up(region, duals_by_area(region, dual_out));
    const Status status = effort > 0 ? tiling_duals_create(&duals, region, fault) : STATUS_OK;
    if (!status && effort > 0) {
        tiling_duals_improve(duals, steps_of(effort), voice);
        *bound_out = round_up(region, tiling_duals_make_feasible(duals, dual_out));
    }
    tiling_duals_free(duals);
    return status;
}

static Status search_priced(RegionSolve *v, const TilingSearch *search, Fault *fault)
{
    const Region *r = v->region;
    TilingSolution *s = v->solution;
    Status status = STATUS_OK;
    for (int32_t i = 0; i < r->cells; i++) {
        v->all[i] = i;
        v->dual_sum += s->dual[i] = search->dual[i];
    }
    if (search->start) {
        memcpy(s->tiling, search->start, (size_t)r->cells * sizeof *s->tiling);
        add_up(s, r);
    } else {
        status = lay_greedily(v, fault);
    }
    s->bound = round_up(r, v->dual_sum);
    if (!status) status = find_reduced_costs(r, s->dual, v->reduced_cost, fault);
    if (!status && !proven(s))
        status = search_whole(v, r->cells <= SMALL_REGION ? MOST_OUTRIGHT : search->most, fault);
    return !status && s->bare && !s->settled ? cover_bare(v, fault) : status;
}

Status tiling_solve_priced(TilingSolution *solution_out, const Region *region, ProfileDp *dp,
                           const TilingSearch *search, Fault *fault)
{
    const size_t cells = (size_t)region->cells, places = (size_t)region_places(region);
    *solution_out = (TilingSolution){.tiling = memory_create(cells, sizeof *solution_out->tiling),
                                     .dual = memory_create(cells, sizeof *solution_out->dual)};
    RegionSolve v = {.region = region,
                     .dp = dp,
                     .solution = solution_out,
                     .reduced_cost = memory_create(places, sizeof *v.reduced_cost),
                     .all = memory_create(cells, sizeof *v.all),
                     .other = memory_create(cells, sizeof *v.other)};
    const bool made =
        solution_out->tiling && solution_out->dual && v.reduced_cost && v.all && v.other;
    const Status status =
        made ? search_priced(&v, search, fault) : memory_fault(fault, cells, sizeof *v.all);
    memory_free(v.reduced_cost);
    memory_free(v.all);
    memory_free(v.other);
    if (status) tiling_solution_clear(solution_out);
    return status;
}
