#include "cells/initial_face.h"

#include "base/memory.h"
#include "cells/dither.h"
#include "cells/match.h"
#include "cells/parallel_sweep.h"

#include <math.h>
#include <string.h>

enum {
    PRICE_SWEEPS = 4, /* in which the price moves */
    WINDOW = 32,      /* cells of the sample's windows, a side */
    WINDOWS = 5       /* each way */
};

static Status sweep(const Task *task, SearchState *state, double *objective, Fault *fault)
{
    if (voice_stopped(task->voice))
        return fault_set(fault, STATUS_INTERRUPTED, "look: stopped; run the plan again");
    parallel_sweep(state, objective);
    state->sweep++;
    return STATUS_OK;
}

static Status match_offered(const Task *task, Grid *nearest, Fault *fault)
{
    Palette *offered = memory_create(1, sizeof *offered);
    if (!offered) return memory_fault(fault, 1, sizeof *offered);
    *offered = *task->palette;
    if (task->keep.offered) offered->count = task->keep.offered;
    Match *match;
    Status status = match_create(&match, offered, fault);
    if (!status)
        status = match_image(match, task->target, task->threads, nearest, task->voice, fault);
    match_free(match);
    memory_free(offered);
    return status;
}

Status initial_face_nearest(const Task *task, const Grid *grid, Grid *nearest, Fault *fault)
{
    const Image *target = task->target;
    Status status = grid_init(nearest, target->columns, target->rows, false, fault);
    if (!status) status = match_offered(task, nearest, fault);
    const bool *kept = status ? NULL : task->keep.cell;
    const size_t cells = (size_t)target->columns * (size_t)target->rows;
    for (size_t i = 0; kept && i < cells; i++)
        if (kept[i]) nearest->colour[i] = grid->colour[i];
    return status;
}

/* Cells that have a colour already keep it. */
static void lay_on(SearchState *state, const Grid *from)
{
    const size_t cells = (size_t)state->columns * (size_t)state->rows;
    uint8_t *colour = state->grid->colour;
    for (size_t i = 0; i < cells; i++)
        if (colour[i] == NONE) colour[i] = from->colour[i];
}

static Status diffuse(const Task *task, SearchState *state, Fault *fault)
{
    Grid grid;
    DitherOptions options = dither_defaults;
    options.keep = task->keep;
    Status status = grid_init(&grid, state->columns, state->rows, false, fault);
    if (status) return status;
    memcpy(grid.colour, state->grid->colour, (size_t)state->columns * (size_t)state->rows);
    status = dither_floyd_steinberg(task->palette, task->target, &options, task->threads, &grid,
                                    task->voice, fault);
    if (!status) lay_on(state, &grid);
    grid_clear(&grid);
    return status;
}

static Status fill(const Task *task, InitialFace kind, const Grid *nearest, SearchState *state,
                   Fault *fault)
{
    double drawn = 0.0;
    if (kind == INITIAL_DRAWN) return sweep(task, state, &drawn, fault);
    if (kind == INITIAL_DIFFUSED) return diffuse(task, state, fault);
    lay_on(state, nearest);
    return STATUS_OK;
}

Status initial_face_take(const Task *task, InitialFace kind, const Grid *nearest,
                         const JointPenalty *thrift, SearchState *state, double *objective,
                         Fault *fault)
{
    joint_penalty_begin(thrift, state);
    state->everywhere = true;
    Status status = fill(task, kind, nearest, state, fault);
    if (!status)
        *objective = task->reweigh ? search_state_weigh(state) : search_state_objective(state);
    for (int i = 0; i < PRICE_SWEEPS && !status; i++) {
        if (i > 0 || kind != INITIAL_DRAWN) joint_penalty_adjust(thrift, state, objective);
        status = sweep(task, state, objective, fault);
    }
    return status;
}

/* ---- the sample ---- */

/* Which of `cells` along an axis are in it: all of a short one. */
static int sample_axis(int cells, int index_out[WINDOWS * WINDOW])
{
    const int count = cells < WINDOWS * WINDOW ? cells : WINDOWS * WINDOW;
    for (int i = 0; i < count; i++) {
        const int apart = count < cells ? i / WINDOW * (cells - WINDOW) / (WINDOWS - 1) : 0;
        index_out[i] = count < cells ? apart + i % WINDOW : i;
    }
    return count;
}

static Status sample_init(const Image *target, Image *sample, Fault *fault)
{
    int column[WINDOWS * WINDOW], row[WINDOWS * WINDOW];
    const int columns = sample_axis(target->columns, column);
    const int rows = sample_axis(target->rows, row);
    const Status status = image_init(sample, columns, rows, fault);
    if (status) return status;
    for (int r = 0; r < rows; r++)
        for (int c = 0; c < columns; c++)
            memcpy(sample->xyz + 3 * ((size_t)r * (size_t)columns + (size_t)c),
                   target->xyz + 3 * ((size_t)row[r] * (size_t)target->columns + (size_t)column[c]),
                   3 * sizeof *sample->xyz);
    return STATUS_OK;
}

static Status try_one(const Task *task, InitialFace kind, const Grid *nearest,
                      const JointPenalty *thrift, double *score_out, Fault *fault)
{
    Grid grid = {0};
    SearchState state = {.build = task->build, .keep = task->keep};
    double objective = 0.0;
    Status status = grid_init(&grid, task->target->columns, task->target->rows, false, fault);
    if (!status)
        status = search_state_init(&state, task->target, task->palette, &grid, &task->viewpoint,
                                   task->detail, task->threads, fault);
    if (!status) status = initial_face_take(task, kind, nearest, thrift, &state, &objective, fault);
    if (!status) {
        objective = task->reweigh ? search_state_weigh(&state) : search_state_objective(&state);
        *score_out = joint_penalty_score(thrift, &state, objective);
    }
    search_state_clear(&state);
    grid_clear(&grid);
    return status;
}

Status initial_face_try(const Task *task, double score_out[INITIAL_FACES], Fault *fault)
{
    Image sample = {0};
    Grid nearest = {0};
    Task small = *task;
    small.target = &sample;
    small.keep.cell = NULL;
    Status status = sample_init(task->target, &sample, fault);
    if (!status) status = initial_face_nearest(&small, NULL, &nearest, fault);
    if (!status) {
        const JointPenalty thrift =
            joint_penalty_of(task->thrift, task->build, &task->viewpoint, &nearest);
        for (InitialFace kind = INITIAL_DRAWN; kind < INITIAL_FACES && !status; kind++)
            status = try_one(&small, kind, &nearest, &thrift, &score_out[kind], fault);
    }
    grid_clear(&nearest);
    image_clear(&sample);
    return status;
}
