/* Starting anew from several faces is the plain cure for a local search's minima; tried on a
 * sample it costs little. tests/cells/test_look checks that the best score leads to the start that
 * is taken, and tests/bench/bench_look shows what the search makes of it.
 *
 * The sample's windows lie evenly over the face, whole at its edges, so that what is fine or even
 * in some part of a picture has its say. */
#include "cells/initial_face.h"

#include "base/memory.h"
#include "cells/dither.h"
#include "cells/nearest_face.h"
#include "cells/parallel_sweep.h"

#include <math.h>
#include <string.h>

/* Choices; tests/bench/bench_look shows what the search makes of them. */
enum {
    REST_PART = 60, /* at rest where so small a part of the cells changes, or less */
    WINDOW = 32,    /* cells of the sample's windows, a side */
    WINDOWS = 5     /* each way */
};

/* changes_out: how many cells changed. */
static Status sweep_once(const InitialFaceTask *task, SearchState *state, long *changes_out,
                         Fault *fault)
{
    if (voice_stopped(task->voice))
        return fault_set(fault, STATUS_INTERRUPTED, "look: stopped; run the plan again");
    *changes_out = parallel_sweep(state);
    state->sweep++;
    return STATUS_OK;
}

Status initial_face_nearest(const InitialFaceTask *task, const Grid *grid, Grid *nearest,
                            Fault *fault)
{
    const Image *target = task->problem.target;
    const NearestTask of = {target, task->problem.palette, task->problem.keep,
                            task->problem.threads, task->voice};
    Status status = grid_init(nearest, target->columns, target->rows, false, fault);
    if (!status) status = nearest_face(&of, nearest, fault);
    const bool *kept = status ? NULL : task->problem.keep.cell;
    const size_t cells = (size_t)target->columns * (size_t)target->rows;
    for (size_t i = 0; kept && i < cells; i++)
        if (kept[i]) nearest->colour[i] = grid->colour[i];
    return status;
}

/* Cells that have a colour already keep it. */
static void colour_open_cells(SearchState *state, const Grid *from)
{
    const size_t cells = (size_t)state->columns * (size_t)state->rows;
    uint8_t *colour = state->grid->colour;
    for (size_t i = 0; i < cells; i++)
        if (colour[i] == NO_COLOUR) colour[i] = from->colour[i];
}

static Status diffuse(const InitialFaceTask *task, SearchState *state, Fault *fault)
{
    Grid grid;
    DitherOptions options = dither_defaults;
    options.keep = task->problem.keep;
    options.voice = task->voice;
    Status status = grid_init(&grid, state->columns, state->rows, false, fault);
    if (status) return status;
    memcpy(grid.colour, state->grid->colour, (size_t)state->columns * (size_t)state->rows);
    status =
        dither_floyd_steinberg(task->problem.palette, task->problem.target, &options, &grid, fault);
    if (!status) colour_open_cells(state, &grid);
    grid_clear(&grid);
    return status;
}

static Status first_colours(const InitialFaceTask *task, InitialFace kind, const Grid *nearest,
                            SearchState *state, Fault *fault)
{
    long changes;
    if (kind == INITIAL_DRAWN) return sweep_once(task, state, &changes, fault);
    if (kind == INITIAL_DIFFUSED) return diffuse(task, state, fault);
    colour_open_cells(state, nearest);
    const CalmProblem calm = search_problem_calm(&task->problem);
    calm_soften(&state->calm, &calm, &task->problem.keep, state->grid);
    return STATUS_OK;
}

Status initial_face_take(const InitialFaceTask *task, InitialFace kind, const Grid *nearest,
                         const BrickPenalty *penalty, SearchState *state, Fault *fault)
{
    brick_penalty_begin(penalty, state);
    state->visit_all = true;
    Status status = first_colours(task, kind, nearest, state, fault);
    if (!status && task->linearise)
        search_state_linearise(state);
    else if (!status)
        search_state_objective(state);
    const long rest = (long)state->columns * (long)state->rows / REST_PART;
    for (int i = 0; i < task->sweeps && !status; i++) {
        long changes = 0;
        const double price = state->bricks.price;
        if (i > 0 || kind != INITIAL_DRAWN) brick_penalty_adjust(penalty, state);
        const bool moved = state->bricks.price != price;
        state->visit_all = i == 0 || moved;
        status = sweep_once(task, state, &changes, fault);
        if (i > 0 && !moved && !status && changes <= rest) break;
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

static Status try_one(const InitialFaceTask *task, InitialFace kind, const Grid *nearest,
                      const BrickPenalty *penalty, double *score_out, Fault *fault)
{
    Grid grid = {0};
    SearchState state = {0};
    const Image *target = task->problem.target;
    Status status = grid_init(&grid, target->columns, target->rows, false, fault);
    if (!status) status = search_state_init(&state, &task->problem, &grid, fault);
    if (!status) status = initial_face_take(task, kind, nearest, penalty, &state, fault);
    if (!status) {
        if (task->linearise)
            search_state_linearise(&state);
        else
            search_state_objective(&state);
        *score_out = brick_penalty_score(penalty, &state);
    }
    search_state_clear(&state);
    grid_clear(&grid);
    return status;
}

Status initial_face_try(const InitialFaceTask *task, double score_out[INITIAL_FACES], Fault *fault)
{
    Image sample = {0};
    Grid nearest = {0};
    const SearchProblem *whole = &task->problem;
    InitialFaceTask small = *task;
    small.problem.target = &sample;
    small.problem.keep = (Keep){.offered = whole->keep.offered};
    small.problem.weights = (CellWeights){0};
    small.problem.limit = NULL;
    Status status = sample_init(whole->target, &sample, fault);
    if (!status) status = initial_face_nearest(&small, NULL, &nearest, fault);
    if (!status) {
        const BrickPenalty penalty = brick_penalty_of(task->thrift, &small.problem, &nearest);
        for (InitialFace kind = INITIAL_DRAWN; kind < INITIAL_FACES && !status; kind++)
            status = try_one(&small, kind, &nearest, &penalty, &score_out[kind], fault);
    }
    grid_clear(&nearest);
    image_clear(&sample);
    return status;
}
