/* Direct binary search (Analoui and Allebach 1992), in this order: the best of several initial
 * faces by coarse samples; sweeps by fine ones until next to nothing changes; then, where a layer
 * tells what bricks come of it, merges of bricks; and where there is too little of some colour,
 * prices on it, quotas and swaps.
 *
 * The perceived difference is not quadratic, the search needs it so: it is linearised at the face
 * as it is, for the first sweeps anew. Invariant: limits hold at the end, or there is a fault. */
#include "cells/look.h"

#include "base/memory.h"
#include "cells/colour_quotas.h"
#include "cells/face_part.h"
#include "cells/initial_face.h"
#include "cells/parallel_sweep.h"
#include "cells/search_state.h"
#include "eye/eye_axis.h"

#include <assert.h>
#include <math.h>
#include <string.h>

typedef struct LookSearch {
    const LookOptions *options;
    InitialFaceTask task;
    SearchState state;
    Grid nearest;
    LookReport report;
} LookSearch;

static Status stopped(Fault *fault)
{
    return fault_set(fault, STATUS_INTERRUPTED, "look: stopped; run the plan again");
}

static Status sweep_face(LookSearch *s, Fault *fault)
{
    const double most = (double)s->options->sweeps;
    voice_progress(s->task.voice, "look", fmin((double)s->state.sweep / most, 1.0));
    if (voice_stopped(s->task.voice)) return stopped(fault);
    s->report.changes += parallel_sweep(&s->state);
    s->state.sweep++;
    return STATUS_OK;
}

static InitialFace best_initial_face(const double score[INITIAL_FACES])
{
    InitialFace best = INITIAL_DRAWN;
    for (InitialFace kind = INITIAL_DRAWN; kind < INITIAL_FACES; kind++)
        if (score[kind] < score[best]) best = kind;
    return best;
}

/* With this much calm that is wanted, the search goes on from the nearest colours untried, which
 * takes two fifths off its time: tried on four paintings, two photographs and three pictures by
 * formula, large even fields among them, 200 columns from 5 m, they were the best of the three each
 * time. */
#define CALM_FROM_NEAREST 0.24

static InitialFace wanted_start(const LookOptions *o)
{
    if (o->start != INITIAL_FACES) return o->start;
    return o->calm * calm_wanted(&o->viewpoint) > CALM_FROM_NEAREST ? INITIAL_NEAREST
                                                                    : INITIAL_FACES;
}

/* Puts the best initial face on the grid, by coarse samples. */
static Status start_from_best(LookSearch *s, Grid *grid, Fault *fault)
{
    const LookOptions *o = s->options;
    LookReport *r = &s->report;
    const InitialFace start = wanted_start(o);
    Status status = initial_face_nearest(&s->task, grid, &s->nearest, fault);
    if (!status && start == INITIAL_FACES) status = initial_face_try(&s->task, r->score, fault);
    if (!status) status = search_state_init(&s->state, &s->task.problem, grid, fault);
    if (!status) status = colour_quotas_check(&s->state, fault);
    if (status) return status;
    r->start = start < INITIAL_FACES ? start : best_initial_face(r->score);
    const BrickPenalty penalty = brick_penalty_of(o->thrift, &s->task.problem, &s->nearest);
    return initial_face_take(&s->task, r->start, &s->nearest, &penalty, &s->state, fault);
}

/* A face is still when a sweep changes at most one cell in so many. Swaps, where limits hold, go
 * on for long and bring little. Choices; tests/bench/bench_look judges time and worth. */
enum { STILL_PART = 60, STILL_PART_OF_SWAPS = 30 };

/* Sweeps until next to nothing changes. The first few linearise anew, but for the very first if
 * that has been done. */
static Status sweep_until_still(LookSearch *s, bool linearised, Fault *fault)
{
    SearchState *state = &s->state;
    const long still = (long)state->columns * (long)state->rows /
                       (state->quotas ? STILL_PART_OF_SWAPS : STILL_PART);
    const int start = state->sweep, fresh = start + s->options->linearisations;
    bool found_nothing = false;
    while (state->sweep < start + s->options->sweeps) {
        state->visit_all = state->sweep < fresh || state->sweep == start || found_nothing;
        if (state->sweep < fresh && !(linearised && state->sweep == start))
            search_state_linearise(state);
        const long before = s->report.changes;
        const Status status = sweep_face(s, fault);
        if (status) return status;
        /* Small faces are swept until a whole sweep finds nothing. */
        const long changes = s->report.changes - before;
        if (state->sweep > fresh && changes <= still && (still > 0 || state->visit_all)) break;
        found_nothing = changes == 0;
    }
    return STATUS_OK;
}

/* Prices on scarce colours are tried until at most one cell in FEW_PART must still change by
 * force, in PRICING_SWEEPS sweeps at most; each step is shorter than the one before, so that prices
 * come to rest. Choices, no source; tests/cells/test_look holds the outcome on small faces against
 * every swap of neighbours. */
enum { PRICING_SWEEPS = 4, FEW_PART = 50 };
#define FIRST_STEP 0.8
#define STEP_FACTOR 0.9

/* Prices on scarce colours first, so that the cells that need them most keep them; then
 * by force; then swaps. */
static Status search_limits(LookSearch *s, Fault *fault)
{
    SearchState *state = &s->state;
    Status status = STATUS_OK;
    double step = FIRST_STEP;
    const long few = (long)state->columns * (long)state->rows / FEW_PART;
    state->visit_all = true;
    for (int i = 0; i < PRICING_SWEEPS && !status && colour_quotas_excess(state) > few; i++) {
        if (i < s->options->linearisations) search_state_linearise(state);
        status = colour_quotas_price(state, step, s->task.voice, fault);
        if (!status) status = sweep_face(s, fault);
        step *= STEP_FACTOR;
    }
    if (status == STATUS_OK) status = colour_quotas_enforce(state, s->task.voice, fault);
    if (status == STATUS_OK) status = parallel_sweep_hold_limits(state, fault);
    if (status) return status;
    search_state_objective(state);
    return sweep_until_still(s, false, fault);
}

/* What a merge saves is a brick for certain, where one that is guessed at is so only in the mean:
 * it may cost so many times as much. On eleven pictures merging takes a tenth of the bricks for a
 * hundredth and a half more error. */
#define CERTAIN_BRICK 4.0

/* Lays the face as it is, and merges bricks; twice, since bricks come to lie otherwise. */
static Status merge_laid_bricks(LookSearch *s, Fault *fault)
{
    enum { LAYINGS = 2, SWEEPS = 3 };
    const LookLayer *layer = s->options->layer;
    SearchState *state = &s->state;
    LookReport *r = &s->report;
    Status status = STATUS_OK;
    r->price_brick = CERTAIN_BRICK * state->bricks.price / brick_guess_unit(&state->bricks);
    for (int i = 0; i < LAYINGS && !status; i++) {
        FaceBricks bricks = {0};
        status = layer->lay(layer->self, state->grid, &bricks, fault);
        BrickMerging merging = {&bricks, layer->sizes, layer->cost, r->price_brick};
        for (int k = 0; k < SWEEPS && !status; k++)
            r->changes += merge_bricks_sweep(&merging, state);
        face_bricks_clear(&bricks);
    }
    search_state_objective(state);
    return status == STATUS_DATA ? STATUS_OK : status; /* laying in earnest will tell */
}

static Status search(LookSearch *s, Grid *grid, Fault *fault)
{
    SearchState *state = &s->state;
    const bool linearise = s->options->linearisations > 0;
    Status status = start_from_best(s, grid, fault);
    if (status == STATUS_OK) status = search_state_refine(state, linearise, fault);
    if (status) return status;
    if (!linearise) search_state_objective(state);
    /* Where the initial face keeps within the limits, the face searched without them probably
     * does too: then neither prices nor quotas are needed. */
    if (colour_quotas_excess(state) == 0) {
        status = sweep_until_still(s, linearise, fault);
        if (status == STATUS_OK && state->bricks.price > 0.0 && s->options->layer)
            status = merge_laid_bricks(s, fault);
    }
    return status || colour_quotas_excess(state) == 0 ? status : search_limits(s, fault);
}

static void report_search(LookSearch *s, LookReport *report)
{
    *report = s->report;
    report->followed = s->state.objective;
    report->objective = search_state_objective(&s->state);
    report->price = s->state.bricks.price;
    report->sweeps = s->state.sweep;
}

static InitialFaceTask task_of(const Image *target, const Palette *palette,
                               const LookOptions *options)
{
    return (InitialFaceTask){.problem = {.target = target,
                                         .palette = palette,
                                         .viewpoint = options->viewpoint,
                                         .build = options->build,
                                         .detail = options->detail,
                                         .calm = options->calm,
                                         .limit = options->limit,
                                         .keep = options->keep,
                                         .weights = options->weights,
                                         .threads = options->threads,
                                         .voice = options->voice},
                             .thrift = options->thrift,
                             .linearise = options->linearisations > 0,
                             .sweeps = INITIAL_SWEEPS,
                             .voice = options->voice};
}

static Status finish(LookSearch *s, Status status, Fault *fault)
{
    if (status == STATUS_OK && voice_stopped(s->options->voice)) status = stopped(fault);
    grid_clear(&s->nearest);
    search_state_clear(&s->state);
    memory_free(s);
    return status;
}

Status look_search(const Image *target, const Palette *palette, const LookOptions *options,
                   Grid *grid, LookReport *report_out, Fault *fault)
{
    assert(palette->count > 0 && palette->count < NO_COLOUR);
    assert(grid->columns == target->columns && grid->rows == target->rows);
    LookSearch *s = memory_create(1, sizeof *s);
    if (!s) return memory_fault(fault, 1, sizeof *s);
    s->options = options;
    s->task = task_of(target, palette, options);
    const Status status = search(s, grid, fault);
    if (status == STATUS_OK && report_out) report_search(s, report_out);
    return finish(s, status, fault);
}

/* ---- the sketch ---- */

/* After one sweep from the nearest colours, linearised there, nine cells in ten are those of the
 * whole search, on a photograph and a painting at 200 columns; after two, 95 in 100, at half as
 * much again of the time. Without being linearised it is seven in ten. */
enum { SKETCH_SWEEPS = 1 };

/* What may not stay as it was has the nearest colour. */
static void colour_as_before(LookSearch *s, const LookBefore *before)
{
    const SearchState *state = &s->state;
    const size_t cells = (size_t)state->columns * (size_t)state->rows;
    uint8_t *colour = state->grid->colour;
    for (size_t i = 0; i < cells; i++) {
        if (search_state_keeps(state, i)) continue;
        const bool may_stay = !keep_bars(&state->problem.keep, i, before->colour[i]);
        colour[i] = may_stay ? before->colour[i] : s->nearest.colour[i];
    }
}

/* Sweeps where something changed, and nowhere else. */
static Status sweep_changed(LookSearch *s, const LookBefore *before, const BrickPenalty *penalty,
                            Fault *fault)
{
    SearchState *state = &s->state;
    const size_t cells = (size_t)state->columns * (size_t)state->rows;
    colour_as_before(s, before);
    brick_penalty_begin(penalty, state);
    search_state_linearise(state);
    brick_penalty_adjust(penalty, state);
    state->visit_all = false;
    state->sweep += 2; /* blocks that are not touched now are passed over */
    for (size_t i = 0; i < cells; i++)
        if (before->changed[i])
            search_state_touch(state, (int)(i % (size_t)state->columns),
                               (int)(i / (size_t)state->columns));
    return sweep_face(s, fault);
}

static Status sketch(LookSearch *s, const LookBefore *before, Grid *grid, Fault *fault)
{
    Status status = initial_face_nearest(&s->task, grid, &s->nearest, fault);
    if (!status) status = search_state_init(&s->state, &s->task.problem, grid, fault);
    if (status) return status;
    const BrickPenalty penalty = brick_penalty_of(s->task.thrift, &s->task.problem, &s->nearest);
    if (before->colour) return sweep_changed(s, before, &penalty, fault);
    return initial_face_take(&s->task, INITIAL_NEAREST, &s->nearest, &penalty, &s->state, fault);
}

static Status sketch_face(const Image *target, const Palette *palette, const LookOptions *options,
                          const LookBefore *before, Grid *grid, Fault *fault)
{
    assert(grid->columns == target->columns && grid->rows == target->rows);
    LookSearch *s = memory_create(1, sizeof *s);
    if (!s) return memory_fault(fault, 1, sizeof *s);
    s->options = options;
    s->task = task_of(target, palette, options);
    s->task.sweeps = SKETCH_SWEEPS;
    return finish(s, sketch(s, before, grid, fault), fault);
}

/* Cells round those that changed which have a part in what comes of it: as far as colours may
 * change, and as far as the eye takes those together with others. */
static int sketch_margin(const LookOptions *options)
{
    const Viewpoint *v = &options->viewpoint;
    const double cell = eye_degrees(fmin(v->cell_width_mm, v->cell_height_mm), v->distance_mm);
    const double seen = ceil(0.5 * EYE_SUPPORT / cell);
    return BLOCK_SIDE + GROUP_MOST + (int)fmin(seen, GRID_MOST);
}

static Status sketch_part(const FacePart *part, const Palette *palette, const LookOptions *options,
                          Grid *grid, Fault *fault)
{
    const FaceCells *c = &part->cells;
    /* Borrowed for reading alone. */
    const Image target = {c->columns, c->rows, (float *)c->target};
    const LookBefore before = {c->colour, c->marked};
    LookOptions own = *options;
    Grid sketched;
    own.keep = c->keep;
    own.weights = c->weights;
    Status status = grid_init(&sketched, c->columns, c->rows, false, fault);
    if (status) return status;
    memcpy(sketched.colour, c->colour, grid_cells(&sketched));
    status = sketch_face(&target, palette, &own, &before, &sketched, fault);
    if (!status) face_part_put(part, sketched.colour, grid);
    grid_clear(&sketched);
    return status;
}

Status look_sketch(const Image *target, const Palette *palette, const LookOptions *options,
                   const LookBefore *before, Grid *grid, Fault *fault)
{
    const bool *kept = options->keep.cell;
    FacePart part;
    if (!before->colour) return sketch_face(target, palette, options, before, grid, fault);
    for (size_t i = 0; i < grid_cells(grid); i++)
        if (!kept || !kept[i]) grid->colour[i] = before->colour[i];
    const FaceCells face = {target->columns, target->rows,  target->xyz,     grid->colour,
                            before->changed, options->keep, options->weights};
    Status status = face_part_init(&part, &face, sketch_margin(options), fault);
    if (!status && part.cells.columns) status = sketch_part(&part, palette, options, grid, fault);
    face_part_clear(&part);
    return status;
}
