/* The layer falls into regions that do not touch one another's bricks: cells joined
 * over their sides with colours that one brick may have, within a panel. They are
 * solved on all threads, largest first, each on its own, so that the result does not
 * depend on who solves which. */
#include "bricks/tiling/tile.h"

#include "base/bands.h"
#include "base/memory.h"
#include "bricks/tiling/cross_joints.h"
#include "bricks/tiling/shape.h"
#include "bricks/tiling/through_joints.h"
#include "bricks/tiling/tiling_solver.h"
#include "bricks/tiling/window_search.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    REGION_MOST = 1 << 18, /* cells; a larger one is cut up, and bounded by its area alone, */
    BLOCK = 256,           /* into blocks so wide and high */
    ROUNDS_OF_LINES = 4,   /* in which joints across whole panels are broken */
    ROUNDS_OF_CROSSINGS = 8,
    FEW_CELLS = 20000 /* a layer that may be taken more pains with */
};

/* A region: its cells in Tiler.order, and how it came out. */
typedef struct Plot {
    int32_t begin, cells;
    Status status;
    int32_t bare; /* a cell of the layer that is not covered, or -1 */
    bool lone;    /* because no brick can lie over it */
    bool settled; /* because the bricks cannot be laid so that all are covered */
    bool cut;     /* part of a region too large */
    double bound; /* bricks */
    double cost;  /* the least that laying it comes to, where costs differ */
    double work;
} Plot;

typedef struct Tiler {
    const TileField *field;
    const Voice *voice;
    Shapes shapes;
    Shapes plain; /* every brick costs 1: for the bound, where costs differ */
    bool priced;
    bool unproven;    /* no bound of bricks is asked for */
    double unit_cost; /* of a cell, at least */
    bool single;      /* the set has 1x1, so every cell can be covered */
    TilingSolveOptions options;
    int32_t *order; /* cells of the layer by region, ascending within */
    Plot *plot;
    int32_t plots;
    uint8_t *laid;  /* by cell of the layer: 1 + the shape that starts here, or 0 */
    int32_t *worth; /* by cell of the layer: its price, see tiling_duals.h */
    ProfileDp *search[BANDS_MOST_THREADS];
    bool regular;     /* crossings are laid away */
    uint8_t *earlier; /* laid, before a round that may be for nothing */
    ThroughJoints lines;
    CrossJoints crossings;
    const struct Blemish *blemish; /* which of them is laid away */
} Tiler;

/* ---- regions ---- */

typedef enum CellState { CELL_NEW, CELL_DONE, CELL_OF_LARGE } CellState;

/* The cell on one side of another, if a brick could lie over both; else -1. */
static int32_t joined_to(const TileField *f, int32_t cell, int side)
{
    const int32_t column = cell % f->columns, row = cell / f->columns;
    int32_t next;
    if (side == 0) {
        if (column == 0 || (f->edge_column && f->edge_column[column])) return -1;
        next = cell - 1;
    } else if (side == 1) {
        if (column + 1 == f->columns || (f->edge_column && f->edge_column[column + 1])) return -1;
        next = cell + 1;
    } else if (side == 2) {
        if (row == 0 || (f->edge_row && f->edge_row[row])) return -1;
        next = cell - f->columns;
    } else {
        if (row + 1 == f->rows || (f->edge_row && f->edge_row[row + 1])) return -1;
        next = cell + f->columns;
    }
    return field_joins(f, (size_t)cell, (size_t)next) ? next : -1;
}

static int ascending(const void *left, const void *right)
{
    const int32_t a = *(const int32_t *)left, b = *(const int32_t *)right;
    return (a > b) - (a < b);
}

static bool same_block(const TileField *f, int32_t a, int32_t b)
{
    return a % f->columns / BLOCK == b % f->columns / BLOCK &&
           a / f->columns / BLOCK == b / f->columns / BLOCK;
}

/* Gathers the region of a cell at the end of order, breadth first; from cells that are
 * in the state `from`, which become `to`. */
static void gather(const TileField *f, int32_t seed, int32_t *order, Plot *plot, uint8_t *state,
                   CellState from, CellState to)
{
    order[plot->begin] = seed;
    plot->cells = 1;
    state[seed] = (uint8_t)to;
    for (int32_t i = 0; i < plot->cells; i++)
        for (int side = 0; side < 4; side++) {
            const int32_t next = joined_to(f, order[plot->begin + i], side);
            if (next < 0 || state[next] != from) continue;
            if (from == CELL_OF_LARGE && !same_block(f, seed, next)) continue;
            state[next] = (uint8_t)to;
            order[plot->begin + plot->cells++] = next;
        }
}

/* The next plot: a region, or a block's part of one too large. */
static void find_plot(const TileField *f, int32_t seed, int32_t *order, Plot *plot, uint8_t *state)
{
    if (state[seed] == CELL_NEW) {
        gather(f, seed, order, plot, state, CELL_NEW, CELL_DONE);
        if (plot->cells > REGION_MOST)
            for (int32_t i = 0; i < plot->cells; i++) state[order[plot->begin + i]] = CELL_OF_LARGE;
    }
    if (state[seed] == CELL_OF_LARGE) {
        gather(f, seed, order, plot, state, CELL_OF_LARGE, CELL_DONE);
        plot->cut = true;
    }
    qsort(order + plot->begin, (size_t)plot->cells, sizeof *order, ascending);
}

static int larger_first(const void *left, const void *right)
{
    const Plot *a = left, *b = right;
    if (a->cells != b->cells) return a->cells > b->cells ? -1 : 1;
    return (a->begin > b->begin) - (a->begin < b->begin);
}

static Status find_regions(Tiler *t, Fault *fault)
{
    const TileField *f = t->field;
    const size_t cells = (size_t)f->columns * (size_t)f->rows;
    uint8_t *state = memory_create(cells, sizeof *state);
    if (!state) return memory_fault(fault, cells, sizeof *state);
    size_t capacity = 0;
    int32_t filled = 0;
    Status status = STATUS_OK;
    for (int32_t i = 0; i < (int32_t)cells && !status; i++) {
        if (state[i] == CELL_DONE || f->label[i] == TILE_EMPTY) continue;
        status = memory_grow(&t->plot, &capacity, (size_t)t->plots + 1, sizeof *t->plot, fault);
        if (status) break;
        Plot *plot = &t->plot[t->plots++];
        *plot = (Plot){.begin = filled, .bare = -1};
        find_plot(f, i, t->order, plot, state);
        filled += plot->cells;
    }
    memory_free(state);
    if (t->plots) qsort(t->plot, (size_t)t->plots, sizeof *t->plot, larger_first);
    return status;
}

/* ---- solving ---- */

/* Where no bound is proven by prices: no brick covers more than the largest. */
static double area_bound(const Tiler *t, const Plot *plot)
{
    const Shape *largest = &t->shapes.shape[0];
    return (double)plot->cells / (largest->columns * largest->rows);
}

static void keep(Tiler *t, Plot *plot, const Region *region, const TilingSolution *solution)
{
    for (int32_t i = 0; i < region->cells; i++) {
        const int32_t place = solution->tiling[i];
        t->worth[region->cell[i]] = solution->worth[i];
        t->laid[region->cell[i]] = 0; /* of an earlier attempt */
        if (place < 0) continue;
        const int shape = region->shape[place];
        t->laid[region->cell[i]] = (uint8_t)(shape + 1);
        if (t->shapes.shape[shape].size == SHAPE_BARE &&
            (plot->bare < 0 || region->cell[i] < plot->bare))
            plot->bare = region->cell[i];
    }
    plot->settled = solution->settled;
    plot->work = (double)solution->work;
    plot->bound = (double)solution->bound / SHAPE_ONE;
    plot->cost = t->priced ? (double)solution->bound * t->shapes.unit : 0;
}

static Status bound_plain(Tiler *t, Plot *plot, Fault *fault)
{
    Region region;
    Status status = region_init(&region, t->order + plot->begin, plot->cells, t->field->columns,
                                t->field->label, &t->plain, fault);
    if (status) return status;
    int64_t bound = 0;
    status = tiling_solve_bound(&bound, &region, t->options.effort, fault);
    plot->bound = (double)bound / SHAPE_ONE;
    region_clear(&region);
    return status;
}

static Status solve_plot(Tiler *t, Plot *plot, ProfileDp *search, Fault *fault)
{
    Region region;
    Status status = region_init(&region, t->order + plot->begin, plot->cells, t->field->columns,
                                t->field->label, &t->shapes, fault);
    if (status) return status;
    TilingSolution solution;
    status = tiling_solve(&solution, &region, search, &t->options, fault);
    if (!status) {
        keep(t, plot, &region, &solution);
        tiling_solution_clear(&solution);
    }
    region_clear(&region);
    if (!status && t->priced && !t->unproven) status = bound_plain(t, plot, fault);
    if (plot->cut) plot->bound = area_bound(t, plot);
    if (plot->cut) plot->cost = (double)plot->cells * t->unit_cost;
    return status;
}

/* Finds a cell that no brick can lie over. */
static Status look_for_lone(const Tiler *t, Plot *plot, Fault *fault)
{
    Region region;
    Status status = region_init(&region, t->order + plot->begin, plot->cells, t->field->columns,
                                t->field->label, &t->shapes, fault);
    if (status) return status;
    bool *covered = memory_create((size_t)region.cells, sizeof *covered);
    if (!covered) status = memory_fault(fault, (size_t)region.cells, sizeof *covered);
    for (int32_t i = 0; covered && i < region.cells; i++)
        for (int32_t p = region.first[i]; p < region.first[i + 1]; p++) {
            const int s = region.shape[p];
            if (t->shapes.shape[s].size == SHAPE_BARE) continue;
            int32_t row = i;
            for (int k = 0; k < region.high[s]; k++, row = region.above[row])
                for (int c = 0; c < region.wide[s]; c++) covered[row + c] = true;
        }
    for (int32_t i = 0; covered && i < region.cells; i++) {
        if (covered[i]) continue;
        plot->lone = true;
        if (plot->bare < 0 || region.cell[i] < plot->bare) plot->bare = region.cell[i];
    }
    memory_free(covered);
    region_clear(&region);
    return status;
}

/* False once the user wants out. */
static bool goes_on(const Tiler *t, Plot *plot)
{
    plot->status = voice_stopped(t->voice) ? STATUS_INTERRUPTED : STATUS_OK;
    return plot->status == STATUS_OK;
}

static void look_in_plots(void *context, int begin, int end, int worker)
{
    (void)worker;
    Tiler *t = context;
    Fault fault;
    for (int i = begin; i < end; i++)
        if (goes_on(t, &t->plot[i])) t->plot[i].status = look_for_lone(t, &t->plot[i], &fault);
}

static void solve_plots(void *context, int begin, int end, int worker)
{
    Tiler *t = context;
    Fault fault;
    for (int i = begin; i < end; i++)
        if (goes_on(t, &t->plot[i]))
            t->plot[i].status = solve_plot(t, &t->plot[i], t->search[worker], &fault);
}

/* Takes pains with each plot that has a bare cell, until one stays so. */
static void cover_plots(Tiler *t)
{
    Fault fault;
    t->options.cover = true;
    for (int32_t i = 0; i < t->plots; i++) {
        Plot *plot = &t->plot[i];
        if (plot->bare < 0) continue;
        plot->bare = -1;
        if (!goes_on(t, plot)) return;
        plot->status = solve_plot(t, plot, t->search[0], &fault);
        if (plot->status) return;
        if (plot->bare < 0) continue;
        for (int32_t k = 0; k < t->plots; k++)
            if (k != i) t->plot[k].bare = -1; /* this one is named */
        return;
    }
}

/* ---- outcome ---- */

static Status name_bare(const TileField *f, const Plot *plot, Fault *fault)
{
    const char *what =
        plot->lone      ? "every brick of the set is too large, the cell cannot be covered"
        : plot->settled ? "the bricks of the set cannot fill the cells of one colour that meet "
                          "here"
                        : "no way was found to fill the cells of one colour that meet here "
                          "with the bricks of the set";
    return fault_set(fault, STATUS_DATA,
                     "%s%scolumn %d, row %d: %s; add 1x1 to the set, or change the colour of the "
                     "cell",
                     f->name ? f->name : "", f->name ? ", " : "", plot->bare % f->columns + 1,
                     plot->bare / f->columns + 1, what);
}

/* The fault of the run, if there is one: of several the same on every run. */
static Status judge(const Tiler *t, Fault *fault)
{
    const Plot *bare = NULL;
    for (int32_t i = 0; i < t->plots; i++) {
        const Plot *p = &t->plot[i];
        if (p->status == STATUS_INTERRUPTED)
            return fault_set(fault, STATUS_INTERRUPTED, "laying: stopped; run it again");
        if (p->status) return memory_fault(fault, (size_t)p->cells, sizeof(int32_t));
        const bool worse = bare && (p->lone != bare->lone ? p->lone : p->bare < bare->bare);
        if (p->bare >= 0 && (!bare || worse)) bare = p;
    }
    return bare ? name_bare(t->field, bare, fault) : STATUS_OK;
}

/* The colour of the cells under a shape, or TILE_FREE. */
static uint8_t label_under(const TileField *f, int32_t cell, const Shape *s)
{
    for (int r = 0; r < s->rows; r++)
        for (int c = 0; c < s->columns; c++) {
            const uint8_t label =
                f->label[(size_t)cell + (size_t)r * (size_t)f->columns + (size_t)c];
            if (label != TILE_FREE) return label;
        }
    return TILE_FREE;
}

static Status collect(const Tiler *t, Tiling *tiling, Fault *fault)
{
    const TileField *f = t->field;
    const size_t cells = (size_t)f->columns * (size_t)f->rows;
    size_t count = 0;
    tiling->count = 0;
    for (size_t i = 0; i < cells; i++) count += t->laid[i] != 0;
    Status status =
        memory_grow(&tiling->tile, &tiling->capacity, count, sizeof *tiling->tile, fault);
    for (int32_t i = 0; i < (int32_t)cells && !status; i++) {
        if (!t->laid[i]) continue;
        const Shape *s = &t->shapes.shape[t->laid[i] - 1];
        tiling->tile[tiling->count++] = (Tile){.column = i % f->columns,
                                               .row = i / f->columns,
                                               .columns = s->columns,
                                               .rows = s->rows,
                                               .size = s->size,
                                               .label = label_under(f, i, s)};
    }
    return status;
}

static void add_bounds(const Tiler *t, Tiling *tiling)
{
    double cut = 0;
    for (int32_t i = 0; i < t->plots; i++) {
        *(t->plot[i].cut ? &cut : &tiling->bound) += t->plot[i].bound;
        tiling->cost += t->plot[i].cost;
        tiling->work += t->plot[i].work;
    }
    tiling->bound += ceil(cut);
}

/* ---- joints that are better elsewhere ---- */

/* Joints across whole panels, or crossings: what is laid otherwise where that is free. */
typedef struct Blemish {
    /* How many the tiling has; they are remembered. */
    Status (*find)(Tiler *t, const Tiling *tiling, size_t *count_out, Fault *fault);
    bool (*beside)(const Tiler *t, int32_t cell);
    /* Lays a region anew around the cells of seed. */
    Status (*lay)(const Tiler *t, const Region *region, ProfileDp *search, int32_t *tiling,
                  const int32_t *worth, const bool *seed, Fault *fault);
    int rounds;
} Blemish;

static Status find_lines(Tiler *t, const Tiling *tiling, size_t *count_out, Fault *fault)
{
    through_joints_clear(&t->lines);
    const Status status =
        through_joints_init(&t->lines, t->field, tiling->tile, tiling->count, fault);
    *count_out = t->lines.count;
    return status;
}

/* True if a brick could lie over this cell and across a line beside it. */
static bool beside_line(const Tiler *t, int32_t cell)
{
    const TileField *f = t->field;
    const int32_t column = cell % f->columns, row = cell / f->columns;
    return (joined_to(f, cell, 0) >= 0 &&
            through_joints_crossed(&t->lines, column - 1, row, 2, 1)) ||
           (joined_to(f, cell, 2) >= 0 && through_joints_crossed(&t->lines, column, row - 1, 1, 2));
}

/* Places across lines are preferred. */
static Status lay_across_lines(const Tiler *t, const Region *r, ProfileDp *search, int32_t *tiling,
                               const int32_t *worth, const bool *seed, Fault *fault)
{
    const size_t places = (size_t)region_places(r);
    int32_t *bias = memory_create(places, sizeof *bias);
    if (!bias) return memory_fault(fault, places, sizeof *bias);
    for (int32_t i = 0; i < r->cells; i++)
        for (int32_t p = r->first[i]; p < r->first[i + 1]; p++) {
            const Shape *s = &t->shapes.shape[r->shape[p]];
            const bool across =
                through_joints_crossed(&t->lines, r->cell[i] % t->field->columns,
                                       r->cell[i] / t->field->columns, s->columns, s->rows);
            bias[p] = across ? 0 : WINDOW_BIAS;
        }
    const Status status =
        tiling_solve_again(tiling, r, search, t->options.effort, worth, bias, seed, fault);
    memory_free(bias);
    return status;
}

static Status find_crossings(Tiler *t, const Tiling *tiling, size_t *count_out, Fault *fault)
{
    cross_joints_clear(&t->crossings);
    const Status status =
        cross_joints_init(&t->crossings, t->field, tiling->tile, tiling->count, fault);
    for (int32_t i = 0; i < t->plots && !status; i++)
        for (int32_t k = t->plot[i].begin; k < t->plot[i].begin + t->plot[i].cells; k++)
            t->crossings.plot[t->order[k]] = i + 1;
    *count_out = t->crossings.count;
    return status;
}

static bool beside_crossing(const Tiler *t, int32_t cell)
{
    const int32_t column = cell % t->field->columns, row = cell / t->field->columns;
    return cross_joints_at(&t->crossings, column, row) ||
           cross_joints_at(&t->crossings, column + 1, row) ||
           cross_joints_at(&t->crossings, column, row + 1) ||
           cross_joints_at(&t->crossings, column + 1, row + 1);
}

static Status lay_uncrossed(const Tiler *t, const Region *r, ProfileDp *search, int32_t *tiling,
                            const int32_t *worth, const bool *seed, Fault *fault)
{
    const CrossJointView view = cross_joints_view(&t->crossings, r);
    const WindowTaste taste = {&view, cross_joints_around};
    return tiling_solve_to_taste(tiling, r, search, t->options.effort, worth, &taste, seed, fault);
}

static const Blemish line_blemish = {find_lines, beside_line, lay_across_lines, ROUNDS_OF_LINES};
static const Blemish crossing_blemish = {find_crossings, beside_crossing, lay_uncrossed,
                                         ROUNDS_OF_CROSSINGS};

static bool plot_has(const Tiler *t, const Plot *plot)
{
    for (int32_t i = plot->begin; i < plot->begin + plot->cells; i++)
        if (t->blemish->beside(t, t->order[i])) return true;
    return false;
}

/* The tiling of a region as it was laid, the worth of its cells, and those beside blemishes. */
static void recall(const Tiler *t, const Region *r, int32_t *tiling, int32_t *worth, bool *seed)
{
    for (int32_t i = 0; i < r->cells; i++) {
        tiling[i] = -1;
        worth[i] = t->worth[r->cell[i]];
        seed[i] = t->blemish->beside(t, r->cell[i]);
        for (int32_t p = r->first[i]; p < r->first[i + 1]; p++)
            if (t->laid[r->cell[i]] == r->shape[p] + 1) tiling[i] = p;
    }
}

static Status relay_region(Tiler *t, const Region *r, ProfileDp *search, Fault *fault)
{
    int32_t *tiling = memory_create((size_t)r->cells, sizeof *tiling);
    int32_t *worth = memory_create((size_t)r->cells, sizeof *worth);
    bool *seed = memory_create((size_t)r->cells, sizeof *seed);
    Status status;
    if (tiling && worth && seed) {
        recall(t, r, tiling, worth, seed);
        status = t->blemish->lay(t, r, search, tiling, worth, seed, fault);
        for (int32_t i = 0; i < r->cells && !status; i++)
            t->laid[r->cell[i]] = tiling[i] < 0 ? 0 : (uint8_t)(r->shape[tiling[i]] + 1);
    } else {
        status = memory_fault(fault, (size_t)r->cells, sizeof *tiling);
    }
    memory_free(tiling);
    memory_free(worth);
    memory_free(seed);
    return status;
}

static void relay_plots(void *context, int begin, int end, int worker)
{
    Tiler *t = context;
    Fault fault;
    for (int i = begin; i < end; i++) {
        Plot *plot = &t->plot[i];
        if (!goes_on(t, plot) || !plot_has(t, plot)) continue;
        Region region;
        plot->status = region_init(&region, t->order + plot->begin, plot->cells, t->field->columns,
                                   t->field->label, &t->shapes, &fault);
        if (plot->status) continue;
        plot->status = relay_region(t, &region, t->search[worker], &fault);
        region_clear(&region);
    }
}

/* One round; *tiling becomes what it leads to if that has fewer blemishes. */
static Status smooth_round(Tiler *t, int threads, Tiling *tiling, size_t *count, bool *better_out,
                           Fault *fault)
{
    Tiling next = {0};
    size_t left = 0;
    const size_t cells = (size_t)t->field->columns * (size_t)t->field->rows;
    memcpy(t->earlier, t->laid, cells);
    bands_run(threads, t->plots, 1, relay_plots, t);
    Status status = judge(t, fault);
    if (!status) status = collect(t, &next, fault);
    if (!status) status = t->blemish->find(t, &next, &left, fault);
    *better_out = !status && left < *count;
    if (*better_out) {
        Tiling swap = *tiling;
        *tiling = next;
        next = swap;
        *count = left;
    } else {
        memcpy(t->laid, t->earlier, cells);
    }
    tiling_clear(&next);
    return status;
}

/* Lays blemishes away where that is free. A layer on another needs it less than that its
 * joints lie over bricks. */
static Status smooth(Tiler *t, int threads, const Blemish *blemish, Tiling *tiling, Fault *fault)
{
    if (t->field->below) return STATUS_OK;
    t->blemish = blemish;
    size_t count;
    Status status = blemish->find(t, tiling, &count, fault);
    bool better = true;
    const int rounds = t->options.effort > 0 ? blemish->rounds : 1;
    for (int round = 0; round < rounds && count && better && !status; round++)
        status = smooth_round(t, threads, tiling, &count, &better, fault);
    return status;
}

static Status run(Tiler *t, int threads, Tiling *tiling, Fault *fault)
{
    const size_t cells = (size_t)t->field->columns * (size_t)t->field->rows;
    t->order = memory_create(cells, sizeof *t->order);
    t->laid = memory_create(cells, sizeof *t->laid);
    t->earlier = memory_create(cells, sizeof *t->earlier);
    t->worth = memory_create(cells, sizeof *t->worth);
    if (!t->order || !t->laid || !t->earlier || !t->worth)
        return memory_fault(fault, cells, sizeof *t->order);
    Status status = find_regions(t, fault);
    for (int i = 0; i < threads && !status; i++) status = profile_dp_create(&t->search[i], fault);
    if (status) return status;
    if (!t->single) {
        bands_run(threads, t->plots, 1, look_in_plots, t);
        if ((status = judge(t, fault))) return status;
    }
    bands_run(threads, t->plots, 1, solve_plots, t);
    cover_plots(t);
    status = judge(t, fault);
    if (!status) status = collect(t, tiling, fault);
    if (!status && t->regular) status = smooth(t, threads, &crossing_blemish, tiling, fault);
    if (!status) status = smooth(t, threads, &line_blemish, tiling, fault);
    if (status) return status;
    add_bounds(t, tiling);
    return STATUS_OK;
}

Status tile_field(Tiling *tiling_out, const TileField *field, const Sizes *sizes,
                  const LayOptions *options, const Voice *voice, Fault *fault)
{
    assert((int64_t)field->columns * field->rows <= INT32_MAX);
    *tiling_out = (Tiling){0};
    Tiler t = {.field = field,
               .voice = voice,
               .priced = options->cost != NULL,
               .unproven = options->unproven,
               .unit_cost = lay_unit_cost(sizes, options->cost),
               .regular = options->regular};
    shapes_init(&t.shapes, sizes, options->cost);
    t.single = t.shapes.shape[t.shapes.count - 1].size != SHAPE_BARE;
    double plain[SIZES_MOST];
    for (int i = 0; i < sizes->count; i++)
        plain[i] = options->cost && !isfinite(options->cost[i]) ? INFINITY : 1;
    shapes_init(&t.plain, sizes, plain);
    t.options = (TilingSolveOptions){.effort = options->effort, .below = field->below};
    if ((int64_t)field->columns * field->rows <= FEW_CELLS)
        t.options.effort = sqrt(options->effort);
    const int threads = options->threads < 1                    ? 1
                        : options->threads > BANDS_MOST_THREADS ? BANDS_MOST_THREADS
                                                                : options->threads;
    const Status status = run(&t, threads, tiling_out, fault);
    for (int i = 0; i < BANDS_MOST_THREADS; i++) profile_dp_free(t.search[i]);
    memory_free(t.order);
    memory_free(t.plot);
    memory_free(t.laid);
    memory_free(t.earlier);
    memory_free(t.worth);
    through_joints_clear(&t.lines);
    cross_joints_clear(&t.crossings);
    if (status) tiling_clear(tiling_out);
    return status;
}

void tiling_clear(Tiling *tiling)
{
    memory_free(tiling->tile);
    *tiling = (Tiling){0};
}
