#include "cells/look.h"

#include "base/memory.h"
#include "cells/colour_quotas.h"
#include "cells/initial_face.h"
#include "cells/parallel_sweep.h"
#include "cells/search_state.h"

#include <assert.h>
#include <math.h>

typedef struct ProfileDp {
    const LookOptions *options;
    Task task;
    SearchState state;
    Grid nearest;
    double objective;
    LookReport report;
} ProfileDp;

static Status sweep(ProfileDp *s, Fault *fault)
{
    const double most = (double)s->options->sweeps;
    voice_progress(s->task.voice, "look", fmin((double)s->state.sweep / most, 1.0));
    if (voice_stopped(s->task.voice))
        return fault_set(fault, STATUS_INTERRUPTED, "look: stopped; run the plan again");
    s->report.changes += parallel_sweep(&s->state, &s->objective);
    s->state.sweep++;
    return STATUS_OK;
}

/* The best start, by rough samples. */
static Status begin(ProfileDp *s, Grid *grid, Fault *fault)
{
    const LookOptions *o = s->options;
    LookReport *r = &s->report;
    Status status = initial_face_nearest(&s->task, grid, &s->nearest, fault);
    if (!status && o->start == INITIAL_FACES) status = initial_face_try(&s->task, r->score, fault);
    if (!status)
        status = search_state_init(&s->state, s->task.target, s->task.palette, grid, &o->viewpoint,
                                   o->detail, o->threads, fault);
    if (!status) status = colour_quotas_check(&s->state, fault);
    if (status) return status;
    r->start = o->start < INITIAL_FACES ? o->start : INITIAL_DRAWN;
    for (InitialFace kind = 0; o->start == INITIAL_FACES && kind < INITIAL_FACES; kind++)
        if (r->score[kind] < r->score[r->start]) r->start = kind;
    const JointPenalty thrift = joint_penalty_of(o->thrift, o->build, &o->viewpoint, &s->nearest);
    return initial_face_take(&s->task, r->start, &s->nearest, &thrift, &s->state, &s->objective,
                             fault);
}

/* Sweeps until next to nothing changes. The first few linearise anew. */
static Status parallel_sweep_until_still(ProfileDp *s, Fault *fault)
{
    SearchState *state = &s->state;
    /* Swaps go on for long, and bring little. */
    const long still = (long)state->columns * (long)state->rows / (state->quota ? 30 : 60);
    const int start = state->sweep, fresh = start + s->options->reweighings;
    bool calm = false;
    while (state->sweep < start + s->options->sweeps) {
        state->everywhere = state->sweep <= fresh || calm;
        if (state->sweep < fresh) s->objective = search_state_weigh(state);
        const long before = s->report.changes;
        const Status status = sweep(s, fault);
        if (status) return status;
        /* Small faces are swept until a whole sweep finds nothing. */
        const long changes = s->report.changes - before;
        if (state->sweep > fresh && changes <= still && (still > 0 || state->everywhere)) break;
        calm = changes == 0;
    }
    return STATUS_OK;
}

/* Duties on scarce colours first, so that the cells that need them most keep them; then
 * by force; then swaps. */
static Status search_limits(ProfileDp *s, Fault *fault)
{
    enum { TAX_SWEEPS = 4 };
    static const double first_step = 0.8, next_step = 0.9;
    SearchState *state = &s->state;
    Status status = STATUS_OK;
    double step = first_step;
    const long few = (long)state->columns * (long)state->rows / 50;
    state->everywhere = true;
    for (int i = 0; i < TAX_SWEEPS && !status && colour_quotas_excess(state) > few; i++) {
        if (i < s->options->reweighings) search_state_weigh(state);
        status = colour_quotas_tax(state, step, s->task.voice, fault);
        if (!status) status = sweep(s, fault);
        step *= next_step;
    }
    if (status == STATUS_OK) status = colour_quotas_relieve(state, fault);
    if (status == STATUS_OK) status = parallel_sweep_hold_limits(state, fault);
    if (status) return status;
    s->objective = search_state_objective(state);
    return parallel_sweep_until_still(s, fault);
}

/* What a brick is worth, where joints at what they cost in bricks are worth as much in all
 * as they were at their price. */
static double price_of_brick(const SearchState *state, const JointCost *joint)
{
    const double bricks = joint->x * joint->joints_x + joint->y * joint->joints_y;
    const double price = state->price_x * joint->joints_x + state->price_y * joint->joints_y;
    return bricks > 0.0 ? price / bricks : 0.0;
}

/* Lays the face as it is, learns from it what a joint costs, and fuses bricks; twice, since
 * bricks come to lie otherwise. */
static Status spare_bricks(ProfileDp *s, Fault *fault)
{
    enum { LAYINGS = 2, SWEEPS = 3, WINDOW = 16 };
    const LookLayer *layer = s->options->layer;
    SearchState *state = &s->state;
    LookReport *r = &s->report;
    Status status = STATUS_OK;
    for (int i = 0; i < LAYINGS && !status; i++) {
        FaceBricks pieces = {0};
        status = layer->lay(layer->self, state->grid, &pieces, fault);
        if (!status && i == 0)
            status = face_bricks_joint_cost(&pieces, state->grid, state->build, WINDOW, &r->joint,
                                            fault);
        if (!status && i == 0) r->price_brick = price_of_brick(state, &r->joint);
        BrickMerging fusing = {&pieces, layer->sizes, layer->cost, r->price_brick};
        for (int k = 0; k < SWEEPS && !status; k++)
            r->changes += merge_bricks_sweep(&fusing, state);
        face_bricks_clear(&pieces);
    }
    s->objective = search_state_objective(state);
    return status == STATUS_DATA ? STATUS_OK : status; /* laying in earnest will tell */
}

static Status search(ProfileDp *s, Grid *grid, Fault *fault)
{
    SearchState *state = &s->state;
    state->build = s->options->build;
    state->limit = s->options->limit;
    state->keep = s->options->keep;
    Status status = begin(s, grid, fault);
    if (status == STATUS_OK) status = search_state_look_closer(state, s->task.target, fault);
    if (status) return status;
    s->objective = search_state_objective(state);
    /* Limits that the start keeps are likely to be kept as it is. */
    if (colour_quotas_excess(state) == 0) {
        status = parallel_sweep_until_still(s, fault);
        if (status == STATUS_OK && state->price_x > 0.0 && s->options->layer)
            status = spare_bricks(s, fault);
    }
    return status || colour_quotas_excess(state) == 0 ? status : search_limits(s, fault);
}

Status look_search(const Image *target, const Palette *palette, const LookOptions *options,
                   Grid *grid, LookReport *report_out, const Voice *voice, Fault *fault)
{
    assert(palette->count > 0 && palette->count < NONE);
    assert(grid->columns == target->columns && grid->rows == target->rows);
    ProfileDp *s = memory_create(1, sizeof *s);
    if (!s) return memory_fault(fault, 1, sizeof *s);
    s->options = options;
    s->task = (Task){.target = target,
                     .palette = palette,
                     .viewpoint = options->viewpoint,
                     .build = options->build,
                     .thrift = options->thrift,
                     .detail = options->detail,
                     .keep = options->keep,
                     .reweigh = options->reweighings > 0,
                     .threads = options->threads,
                     .voice = voice};
    const Status status = search(s, grid, fault);
    if (status == STATUS_OK && report_out) {
        *report_out = s->report;
        report_out->followed = s->objective;
        report_out->objective = search_state_objective(&s->state);
        report_out->price_x = s->state.price_x;
        report_out->price_y = s->state.price_y;
        report_out->sweeps = s->state.sweep;
    }
    grid_clear(&s->nearest);
    search_state_clear(&s->state);
    memory_free(s);
    return status;
}
