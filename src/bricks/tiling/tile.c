/* One layer cut into bricks: its components solved on all threads, joints tidied where that is
 * free.
 *
 * Idea. Every connected component (components.h) is solved on its own (tiling_solver.h). Then
 * joints that are better elsewhere are laid away where that costs nothing: those straight across a
 * whole panel, at which it would fold, and, where a bond is asked for, points at which four bricks
 * meet. The components that have some are laid anew, in rounds; a round counts only if fewer are
 * left.
 *
 * Invariants. Components are worked on largest first, each on its own, so that the result does not
 * depend on which thread solves which. Of several faults the first in that order is told, as it was
 * set where it happened. The cost never rises after the components are solved.
 *
 * Source. tiling_solver.c, through_joints.h, cross_joints.h. */
#include "bricks/tiling/tile.h"

#include "base/bands.h"
#include "base/memory.h"
#include "bricks/tiling/components.h"
#include "bricks/tiling/cross_joints.h"
#include "bricks/tiling/shape.h"
#include "bricks/tiling/through_joints.h"
#include "bricks/tiling/tiling_solver.h"
#include "bricks/tiling/window_search.h"

#include <assert.h>
#include <math.h>
#include <string.h>

enum {
    THROUGH_JOINT_ROUNDS = 4, /* in which components that have some are laid anew */
    CROSS_JOINT_ROUNDS = 8,
    FEW_CELLS = 20000 /* of a layer small enough for more effort than was asked: its square root */
};

/* How a component came out. */
typedef struct Outcome {
    int32_t bare; /* a cell of the layer that is not covered, or -1 */
    bool lone;    /* because no brick can lie over it */
    bool settled; /* because the bricks cannot be laid so that all are covered */
    double bound; /* bricks */
    double cost;  /* the least that laying it comes to, where costs differ */
    double work;
} Outcome;

/* One thread's. */
typedef struct Worker {
    ProfileDp *dp;
    int32_t failed; /* the first component that it could not do, or INT32_MAX */
    Fault fault;    /* why */
} Worker;

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
    Components components;
    Outcome *outcome; /* by component */
    uint8_t *laid;    /* by cell of the layer: 1 + the shape that starts here, or 0 */
    int32_t *dual;    /* by cell of the layer: see tiling_duals.h */
    int threads;
    Worker *worker; /* threads */
    bool regular;   /* cross joints are laid away */
    uint8_t *saved; /* laid, before a round that may be for nothing */
    ThroughJoints through;
    CrossJoints crosses;
    const struct JointDefect *defect; /* which of them is laid away */
} Tiler;

/* ---- solving ---- */

static Status region_of(Region *region_out, const Tiler *t, int32_t index, const Shapes *shapes,
                        Fault *fault)
{
    const Component *c = &t->components.component[index];
    return region_init(region_out, t->field, t->components.cell + c->begin, c->cells, shapes,
                       fault);
}

/* Where no bound is proven by duals: no brick covers more than the largest. */
static double area_bound(const Shapes *shapes, const Component *c)
{
    const Shape *largest = &shapes->shape[0];
    return (double)c->cells / (largest->columns * largest->rows);
}

static void keep_solution(Tiler *t, Outcome *outcome, const Region *region,
                          const TilingSolution *solution)
{
    for (int32_t i = 0; i < region->cells; i++) {
        const int32_t place = solution->tiling[i], cell = region->cell[i];
        t->dual[cell] = solution->dual[i];
        t->laid[cell] = 0; /* of an earlier attempt */
        if (place < 0) continue;
        const int shape = region->shape[place];
        t->laid[cell] = (uint8_t)(shape + 1);
        if (t->shapes.shape[shape].size == SHAPE_BARE &&
            (outcome->bare < 0 || cell < outcome->bare))
            outcome->bare = cell;
    }
    outcome->settled = solution->settled;
    outcome->work = (double)solution->work;
    outcome->bound = (double)solution->bound / SHAPE_ONE;
    outcome->cost = t->priced ? (double)solution->bound * t->shapes.unit : 0;
}

/* The bound on the number of bricks, where the tiling is one of least cost. */
static Status bound_plain(Tiler *t, int32_t index, Fault *fault)
{
    Region region;
    Status status = region_of(&region, t, index, &t->plain, fault);
    if (status) return status;
    int64_t bound = 0;
    int32_t *dual = memory_create((size_t)region.cells, sizeof *dual);
    status = dual ? tiling_solve_bound(&bound, dual, &region, t->options.effort, t->voice, fault)
                  : memory_fault(fault, (size_t)region.cells, sizeof *dual);
    memory_free(dual);
    t->outcome[index].bound = (double)bound / SHAPE_ONE;
    region_clear(&region);
    return status;
}

static Status solve_component(Tiler *t, int32_t index, ProfileDp *dp, Fault *fault)
{
    const Component *c = &t->components.component[index];
    Outcome *outcome = &t->outcome[index];
    Region region;
    Status status = region_of(&region, t, index, &t->shapes, fault);
    if (status) return status;
    TilingSolution solution;
    status = tiling_solve(&solution, &region, dp, &t->options, fault);
    if (!status) {
        keep_solution(t, outcome, &region, &solution);
        tiling_solution_clear(&solution);
    }
    region_clear(&region);
    if (!status && t->priced && !t->unproven) status = bound_plain(t, index, fault);
    if (c->cut) outcome->bound = area_bound(&t->shapes, c);
    if (c->cut) outcome->cost = (double)c->cells * t->unit_cost;
    return status;
}

/* Finds a cell that no brick can lie over. */
static Status look_for_lone(Tiler *t, int32_t index, ProfileDp *dp, Fault *fault)
{
    (void)dp;
    Outcome *outcome = &t->outcome[index];
    Region region;
    Status status = region_of(&region, t, index, &t->shapes, fault);
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
        outcome->lone = true;
        if (outcome->bare < 0 || region.cell[i] < outcome->bare) outcome->bare = region.cell[i];
    }
    memory_free(covered);
    region_clear(&region);
    return status;
}

/* ---- on all threads ---- */

/* What is done to one component. */
typedef Status ComponentWork(Tiler *t, int32_t index, ProfileDp *dp, Fault *fault);

typedef struct ComponentRun {
    Tiler *tiler;
    ComponentWork *work;
} ComponentRun;

/* Does the work, unless the user wants out; keeps the worker's first fault. */
static void do_component(Tiler *t, int32_t index, ComponentWork *work, Worker *worker)
{
    Fault fault;
    const Status status = voice_stopped(t->voice) ? fault_set(&fault, STATUS_INTERRUPTED,
                                                              "laying: stopped; run it again")
                                                  : work(t, index, worker->dp, &fault);
    if (!status || index >= worker->failed) return;
    worker->failed = index;
    worker->fault = fault;
}

static void do_components(void *context, int begin, int end, int worker)
{
    const ComponentRun *run = context;
    for (int i = begin; i < end; i++)
        do_component(run->tiler, i, run->work, &run->tiler->worker[worker]);
}

/* The fault of the component that comes first in the order of work. */
static Status first_fault(const Tiler *t, Fault *fault)
{
    const Worker *first = &t->worker[0];
    for (int i = 1; i < t->threads; i++)
        if (t->worker[i].failed < first->failed) first = &t->worker[i];
    if (first->failed == INT32_MAX) return STATUS_OK;
    if (fault) *fault = first->fault;
    return first->fault.status;
}

static Status do_all(Tiler *t, ComponentWork *work, Fault *fault)
{
    ComponentRun run = {t, work};
    bands_run(t->threads, t->components.count, 1, do_components, &run);
    return first_fault(t, fault);
}

/* ---- outcome ---- */

static Status name_bare(const TileField *f, const Outcome *outcome, Fault *fault)
{
    const char *what =
        outcome->lone      ? "every brick of the set is too large, the cell cannot be covered"
        : outcome->settled ? "the bricks of the set cannot fill the cells of one colour that meet "
                             "here"
                           : "no way was found to fill the cells of one colour that meet here "
                             "with the bricks of the set";
    return fault_set(fault, STATUS_DATA,
                     "%s%scolumn %d, row %d: %s; add 1x1 to the set, or change the colour of the "
                     "cell",
                     f->name ? f->name : "", f->name ? ", " : "", outcome->bare % f->columns + 1,
                     outcome->bare / f->columns + 1, what);
}

/* The fault of cells left bare: those that no brick can lie over first, then by place. */
static Status judge_bare(const Tiler *t, Fault *fault)
{
    const Outcome *bare = NULL;
    for (int32_t i = 0; i < t->components.count; i++) {
        const Outcome *o = &t->outcome[i];
        const bool worse = bare && (o->lone != bare->lone ? o->lone : o->bare < bare->bare);
        if (o->bare >= 0 && (!bare || worse)) bare = o;
    }
    return bare ? name_bare(t->field, bare, fault) : STATUS_OK;
}

/* Tries harder where a component has a bare cell, until one stays so; that one is named. */
static Status cover_components(Tiler *t, Fault *fault)
{
    t->options.cover = true;
    for (int32_t i = 0; i < t->components.count; i++) {
        Outcome *outcome = &t->outcome[i];
        if (outcome->bare < 0) continue;
        outcome->bare = -1;
        do_component(t, i, solve_component, &t->worker[0]);
        const Status status = first_fault(t, fault);
        if (status) return status;
        if (outcome->bare >= 0) return name_bare(t->field, outcome, fault);
    }
    return STATUS_OK;
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

static Status collect_tiles(const Tiler *t, Tiling *tiling, Fault *fault)
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
    for (int32_t i = 0; i < t->components.count; i++) {
        const Outcome *o = &t->outcome[i];
        *(t->components.component[i].cut ? &cut : &tiling->bound) += o->bound;
        tiling->cost += o->cost;
        tiling->work += o->work;
    }
    tiling->bound += ceil(cut);
}

/* ---- joints that are better elsewhere ---- */

/* A component that is laid anew. */
typedef struct Relay {
    const Tiler *tiler;
    const Region *region;
    ProfileDp *dp;
    int32_t *tiling; /* as laid, by cell of the region */
    int32_t *dual;   /* by cell */
    bool *seed;      /* by cell: it has a defect beside it */
} Relay;

/* Joints straight across whole panels, or cross joints: what is laid otherwise where that is
 * free. */
typedef struct JointDefect {
    /* How many the tiling has; they are remembered. */
    Status (*find)(Tiler *t, const Tiling *tiling, size_t *count_out, Fault *fault);
    bool (*beside)(const Tiler *t, int32_t cell);
    /* Lays the component anew around the seeds. */
    Status (*lay)(const Relay *relay, Fault *fault);
    int rounds;
} JointDefect;

static Status find_through_joints(Tiler *t, const Tiling *tiling, size_t *count_out, Fault *fault)
{
    through_joints_clear(&t->through);
    const Status status =
        through_joints_init(&t->through, t->field, tiling->tile, tiling->count, fault);
    *count_out = t->through.count;
    return status;
}

/* True if a brick could lie over this cell and across a through joint beside it. */
static bool beside_through_joint(const Tiler *t, int32_t cell)
{
    const TileField *f = t->field;
    const int32_t column = cell % f->columns, row = cell / f->columns;
    return (field_neighbour(f, cell, SIDE_LEFT) >= 0 &&
            through_joints_crossed(&t->through, column - 1, row, 2, 1)) ||
           (field_neighbour(f, cell, SIDE_BELOW) >= 0 &&
            through_joints_crossed(&t->through, column, row - 1, 1, 2));
}

static TilingPreference preference_of(const Relay *relay)
{
    return (TilingPreference){
        .effort = relay->tiler->options.effort, .dual = relay->dual, .seed = relay->seed};
}

/* Prefers places across through joints. */
static Status lay_across(const Relay *relay, Fault *fault)
{
    const Tiler *t = relay->tiler;
    const Region *r = relay->region;
    const size_t places = (size_t)region_places(r);
    int32_t *bias = memory_create(places, sizeof *bias);
    if (!bias) return memory_fault(fault, places, sizeof *bias);
    for (int32_t i = 0; i < r->cells; i++)
        for (int32_t p = r->first[i]; p < r->first[i + 1]; p++) {
            const Shape *s = &t->shapes.shape[r->shape[p]];
            const bool across =
                through_joints_crossed(&t->through, r->cell[i] % t->field->columns,
                                       r->cell[i] / t->field->columns, s->columns, s->rows);
            bias[p] = across ? 0 : WINDOW_BIAS;
        }
    TilingPreference preference = preference_of(relay);
    preference.bias = bias;
    const Status status = tiling_solve_again(relay->tiling, r, relay->dp, &preference, fault);
    memory_free(bias);
    return status;
}

static Status find_cross_joints(Tiler *t, const Tiling *tiling, size_t *count_out, Fault *fault)
{
    const Components *k = &t->components;
    cross_joints_clear(&t->crosses);
    const Status status =
        cross_joints_init(&t->crosses, t->field, tiling->tile, tiling->count, fault);
    for (int32_t i = 0; i < k->count && !status; i++) {
        const Component *c = &k->component[i];
        for (int32_t at = c->begin; at < c->begin + c->cells; at++)
            t->crosses.region[k->cell[at]] = i + 1;
    }
    *count_out = t->crosses.count;
    return status;
}

static bool beside_cross_joint(const Tiler *t, int32_t cell)
{
    const int32_t column = cell % t->field->columns, row = cell / t->field->columns;
    return cross_joints_at(&t->crosses, column, row) ||
           cross_joints_at(&t->crosses, column + 1, row) ||
           cross_joints_at(&t->crosses, column, row + 1) ||
           cross_joints_at(&t->crosses, column + 1, row + 1);
}

static Status lay_uncrossed(const Relay *relay, Fault *fault)
{
    const CrossJointView view = cross_joints_view(&relay->tiler->crosses, relay->region);
    const WindowTieBreak fewer = {&view, cross_joints_around};
    TilingPreference preference = preference_of(relay);
    preference.tie_break = &fewer;
    return tiling_solve_again(relay->tiling, relay->region, relay->dp, &preference, fault);
}

static const JointDefect through_joint_defect = {find_through_joints, beside_through_joint,
                                                 lay_across, THROUGH_JOINT_ROUNDS};
static const JointDefect cross_joint_defect = {find_cross_joints, beside_cross_joint, lay_uncrossed,
                                               CROSS_JOINT_ROUNDS};

static bool has_defect(const Tiler *t, const Component *c)
{
    for (int32_t i = c->begin; i < c->begin + c->cells; i++)
        if (t->defect->beside(t, t->components.cell[i])) return true;
    return false;
}

/* The component as it was laid, its duals, and the cells beside defects. */
static void recall(const Relay *relay)
{
    const Tiler *t = relay->tiler;
    const Region *r = relay->region;
    for (int32_t i = 0; i < r->cells; i++) {
        relay->tiling[i] = -1;
        relay->dual[i] = t->dual[r->cell[i]];
        relay->seed[i] = t->defect->beside(t, r->cell[i]);
        for (int32_t p = r->first[i]; p < r->first[i + 1]; p++)
            if (t->laid[r->cell[i]] == r->shape[p] + 1) relay->tiling[i] = p;
    }
}

static Status relay_region(Tiler *t, const Region *r, ProfileDp *dp, Fault *fault)
{
    const Relay relay = {.tiler = t,
                         .region = r,
                         .dp = dp,
                         .tiling = memory_create((size_t)r->cells, sizeof *relay.tiling),
                         .dual = memory_create((size_t)r->cells, sizeof *relay.dual),
                         .seed = memory_create((size_t)r->cells, sizeof *relay.seed)};
    Status status;
    if (relay.tiling && relay.dual && relay.seed) {
        recall(&relay);
        status = t->defect->lay(&relay, fault);
        for (int32_t i = 0; i < r->cells && !status; i++)
            t->laid[r->cell[i]] =
                relay.tiling[i] < 0 ? 0 : (uint8_t)(r->shape[relay.tiling[i]] + 1);
    } else {
        status = memory_fault(fault, (size_t)r->cells, sizeof *relay.tiling);
    }
    memory_free(relay.tiling);
    memory_free(relay.dual);
    memory_free(relay.seed);
    return status;
}

static Status relay_component(Tiler *t, int32_t index, ProfileDp *dp, Fault *fault)
{
    if (!has_defect(t, &t->components.component[index])) return STATUS_OK;
    Region region;
    Status status = region_of(&region, t, index, &t->shapes, fault);
    if (status) return status;
    status = relay_region(t, &region, dp, fault);
    region_clear(&region);
    return status;
}

/* One round; *tiling becomes what it leads to if that has fewer defects. */
static Status smooth_round(Tiler *t, Tiling *tiling, size_t *count, bool *better_out, Fault *fault)
{
    Tiling next = {0};
    size_t left = 0;
    const size_t cells = (size_t)t->field->columns * (size_t)t->field->rows;
    memcpy(t->saved, t->laid, cells);
    Status status = do_all(t, relay_component, fault);
    if (!status) status = collect_tiles(t, &next, fault);
    if (!status) status = t->defect->find(t, &next, &left, fault);
    *better_out = !status && left < *count;
    if (*better_out) {
        Tiling swap = *tiling;
        *tiling = next;
        next = swap;
        *count = left;
    } else {
        memcpy(t->laid, t->saved, cells);
    }
    tiling_clear(&next);
    return status;
}

/* Lays defects away where that is free. A layer on another needs it less than that its joints lie
 * over bricks. */
static Status smooth(Tiler *t, const JointDefect *defect, Tiling *tiling, Fault *fault)
{
    if (t->field->below) return STATUS_OK;
    t->defect = defect;
    size_t count;
    Status status = defect->find(t, tiling, &count, fault);
    bool better = true;
    const int rounds = t->options.effort > 0 ? defect->rounds : 1;
    for (int round = 0; round < rounds && count && better && !status; round++)
        status = smooth_round(t, tiling, &count, &better, fault);
    return status;
}

/* ---- all together ---- */

static Status tiler_make(Tiler *t, Fault *fault)
{
    const size_t cells = (size_t)t->field->columns * (size_t)t->field->rows;
    t->laid = memory_create(cells, sizeof *t->laid);
    t->saved = memory_create(cells, sizeof *t->saved);
    t->dual = memory_create(cells, sizeof *t->dual);
    t->worker = memory_create((size_t)t->threads, sizeof *t->worker);
    if (!t->laid || !t->saved || !t->dual || !t->worker)
        return memory_fault(fault, cells, sizeof *t->dual);
    Status status = components_init(&t->components, t->field, t->voice, fault);
    if (status) return status;
    const size_t count = (size_t)t->components.count;
    t->outcome = memory_create(count, sizeof *t->outcome);
    if (!t->outcome) return memory_fault(fault, count, sizeof *t->outcome);
    for (size_t i = 0; i < count; i++) t->outcome[i].bare = -1;
    for (int i = 0; i < t->threads && !status; i++) {
        t->worker[i].failed = INT32_MAX;
        status = profile_dp_create(&t->worker[i].dp, t->voice, fault);
    }
    return status;
}

static void tiler_clear(Tiler *t)
{
    for (int i = 0; t->worker && i < t->threads; i++) profile_dp_free(t->worker[i].dp);
    memory_free(t->worker);
    memory_free(t->outcome);
    memory_free(t->laid);
    memory_free(t->saved);
    memory_free(t->dual);
    components_clear(&t->components);
    through_joints_clear(&t->through);
    cross_joints_clear(&t->crosses);
}

static Status tile_components(Tiler *t, Tiling *tiling, Fault *fault)
{
    Status status = tiler_make(t, fault);
    if (!status && !t->single) {
        status = do_all(t, look_for_lone, fault);
        if (!status) status = judge_bare(t, fault);
    }
    if (!status) status = do_all(t, solve_component, fault);
    if (!status) status = cover_components(t, fault);
    if (!status) status = collect_tiles(t, tiling, fault);
    if (!status && t->regular) status = smooth(t, &cross_joint_defect, tiling, fault);
    if (!status) status = smooth(t, &through_joint_defect, tiling, fault);
    if (!status) add_bounds(t, tiling);
    return status;
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
               .regular = options->regular,
               .threads = bands_threads(options->threads),
               .options = {.effort = options->effort, .below = field->below}};
    shapes_init(&t.shapes, sizes, options->cost);
    t.single = t.shapes.shape[t.shapes.count - 1].size != SHAPE_BARE;
    double plain[SIZES_MOST];
    for (int i = 0; i < sizes->count; i++)
        plain[i] = options->cost && !isfinite(options->cost[i]) ? INFINITY : 1;
    shapes_init(&t.plain, sizes, plain);
    if ((int64_t)field->columns * field->rows <= FEW_CELLS)
        t.options.effort = sqrt(options->effort);
    const Status status = tile_components(&t, tiling_out, fault);
    tiler_clear(&t);
    if (status) tiling_clear(tiling_out);
    return status;
}

void tiling_clear(Tiling *tiling)
{
    memory_free(tiling->tile);
    *tiling = (Tiling){0};
}
