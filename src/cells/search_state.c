/* The state of a direct binary search (Analoui and Allebach 1992; see look.h) and its objective.
 *
 * The cost of a colour in a cell is a quadratic form of its opponent values plus a weighted square
 * in CIELAB: so for all colours it is fourteen numbers of the cell times fourteen of each colour,
 * four colours at a time.
 *
 * Invariants: the perceived error shows the grid, and cells without a colour as the target;
 * curvatures are used only if they are of the linearisation in force; gradients in
 * state->gradient may be stale and serve estimates alone. */
#include "cells/search_state.h"

#include "base/bands.h"
#include "base/memory.h"
#include "base/simd8.h"
#include "cells/accent.h"

#include <limits.h>
#include <math.h>
#include <string.h>

/* CIEDE2000; smaller differences count by their square, so that the objective is smooth at 0.
 * One unit is about a just noticeable difference. */
static const double softening = 1.0;

static void palette_init(SearchState *state, const Palette *palette)
{
    state->colours = palette->count;
    for (int c = 0; c < palette->count; c++) {
        const Colour *colour = &palette->colour[c];
        double exact[3];
        eye_from_xyz(colour->xyz, exact);
        /* What changes must be just what is shown, and faces are shown as floats. Rounded
         * by arithmetic: gcc 12 can lose a rounding that a float and back is to make. */
        for (int p = 0; p < 3; p++) state->value[c][p] = rint(exact[p] * 0x1p22) * 0x1p-22;
        for (int p = 0; p < 3; p++) state->opponent[c][p] = (float)state->value[c][p];
        const double *v = state->value[c];
        const Lab *lab = &colour->lab;
        const double factor[COST_FACTORS] = {v[0] * v[0],
                                             v[0] * v[1],
                                             v[0] * v[2],
                                             v[1] * v[1],
                                             v[1] * v[2],
                                             v[2] * v[2],
                                             v[0],
                                             v[1],
                                             v[2],
                                             lab->L * lab->L,
                                             lab->a * lab->a + lab->b * lab->b,
                                             lab->L,
                                             lab->a,
                                             lab->b};
        for (int t = 0; t < COST_FACTORS; t++) state->factor[t][c] = factor[t];
        state->palette_planes[0][c] = (float)lab->L;
        state->palette_planes[1][c] = (float)lab->a;
        state->palette_planes[2][c] = (float)lab->b;
    }
    state->palette_lab =
        (LabRow){state->palette_planes[0], state->palette_planes[1], state->palette_planes[2]};
    quick_init(&state->quick);
}

/* A difference seen close by counts by its square over DETAIL_SCALE, in CIEDE2000: small ones
 * are what mixing is made of, large ones are specks. tests/bench/bench_look shows what it does
 * (column close by). */
enum { DETAIL_SCALE = 20 };

typedef struct DetailWork {
    DetailTarget *detail;
    const Image *target;
    const float *care; /* by cell; NULL: 1 everywhere */
    double weight;
} DetailWork;

/* Lightness and chroma by their weights in CIEDE2000, S_L and S_C, at the target. */
static void detail_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    const DetailWork *w = context;
    for (int row = begin; row < end; row++)
        for (int column = 0; column < w->target->columns; column++) {
            const Lab lab = lab_from_xyz(image_at(w->target, column, row));
            const double off = (lab.L - 50.0) * (lab.L - 50.0);
            const double sl = 1.0 + 0.015 * off / sqrt(20.0 + off);
            const double sc = 1.0 + 0.045 * hypot(lab.a, lab.b);
            const size_t at = (size_t)row * (size_t)w->target->columns + (size_t)column;
            const double weight = w->weight * (w->care ? (double)w->care[at] : 1.0);
            w->detail[at] =
                (DetailTarget){(float)lab.L, (float)lab.a, (float)lab.b,
                               (float)(weight / (sl * sl)), (float)(weight / (sc * sc))};
        }
}

/* Of an accent, CIEDE2000 from its target costs this much at detail 1: far more than any mixing
 * gains, so that it has its nearest colour. tests/cells/test_accent shows what it keeps. */
#define ACCENT_PRICE 120.0

/* Accents of the target, free of what calm costs; then the prices of their differences. */
static Status accents_init(SearchState *state, Fault *fault)
{
    const SearchProblem *p = &state->problem;
    const size_t cells = (size_t)state->columns * (size_t)state->rows;
    if (!(state->accent = memory_create(cells, sizeof *state->accent)))
        return memory_fault(fault, cells, sizeof *state->accent);
    Status status =
        accent_find(p->target, &p->viewpoint, p->threads, p->voice, state->accent, fault);
    CalmProblem calm = search_problem_calm(p);
    calm.accent = state->accent;
    if (!status) status = calm_init(&state->calm, &calm, fault);
    const float price = (float)(ACCENT_PRICE * p->detail);
    for (size_t at = 0; at < cells; at++)
        state->accent[at] *= price * (p->weights.care ? p->weights.care[at] : 1.0f);
    return status;
}

/* What an accent's difference costs, of a lane of colours from `first` on. */
static void accent_costs(const SearchState *state, size_t at, int first, int count, float *cost)
{
    float target[3][COLOUR_SLOTS];
    const DetailTarget *t = &state->detail[at];
    for (int i = 0; i < count; i++) target[0][i] = t->L, target[1][i] = t->a, target[2][i] = t->b;
    const LabRow one = {target[0], target[1], target[2]};
    const LabRow *all = &state->palette_lab;
    const LabRow two = {all->L + first, all->a + first, all->b + first};
    lab_row_differences(&state->quick, &one, &two, count, cost);
    for (int i = 0; i < count; i++) cost[i] *= state->accent[at];
}

/* Tiles of one phase have a whole tile between them. Groups and swaps change cells a
 * little beyond their tile, and touch blocks beyond that. */
enum { TILE_LEAST = 40 }; /* a multiple of BLOCK_SIDE; merges of bricks reach 16 cells either way */

static void sweep_tiles_init(SearchState *state)
{
    state->tile_side = (perceived_error_reach(state->perceived) + 2 * GROUP_MOST + BLOCK_SIDE - 1) /
                       BLOCK_SIDE * BLOCK_SIDE;
    if (state->tile_side < TILE_LEAST) state->tile_side = TILE_LEAST;
    state->tiles_across = (state->columns + state->tile_side - 1) / state->tile_side;
    state->tiles_up = (state->rows + state->tile_side - 1) / state->tile_side;
}

/* Cells that are kept show what they are from the start, so that what is chosen first makes
 * up for them. */
static void show_kept(SearchState *state)
{
    const size_t cells = (size_t)state->columns * (size_t)state->rows;
    for (int c = state->problem.keep.offered; c > 0 && c < state->colours; c++)
        state->barred[c] = true;
    for (size_t at = 0; at < cells; at++) {
        uint8_t *colour = &state->grid->colour[at];
        if (!search_state_keeps(state, at)) {
            *colour = NO_COLOUR;
            continue;
        }
        double target[3], d[3];
        const Footprint footprint =
            perceived_error_footprint(state->perceived, (int)(at % (size_t)state->columns),
                                      (int)(at / (size_t)state->columns), state->scratch);
        perceived_error_target(state->perceived, at, target);
        for (int p = 0; p < 3; p++) d[p] = state->value[*colour][p] - target[p];
        perceived_error_shift(state->perceived, &footprint, d);
        state->kept[*colour]++;
    }
}

/* All that depends on how fine the samples are. */
static Status samples_init(SearchState *state, SampleDensity density, Fault *fault)
{
    const SearchProblem *p = &state->problem;
    const PerceivedErrorOptions options = {density, p->threads, p->voice};
    const Status status =
        perceived_error_create(&state->perceived, p->target, &p->viewpoint, &options, fault);
    if (status) return status;
    perceived_error_weigh(state->perceived, p->weights.care);
    for (int x = 0; x < GROUP_MOST; x++)
        for (int y = 0; y < GROUP_MOST; y++)
            perceived_error_overlap(state->perceived, x, y, state->overlap[x][y]);
    sweep_tiles_init(state);
    state->scratch_size = perceived_error_scratch(state->perceived);
    const size_t tiles = (size_t)state->tiles_across * (size_t)state->tiles_up;
    if (!(state->tiles = memory_create(tiles, sizeof *state->tiles)) ||
        !(state->scratch =
              memory_create(state->scratch_size, (size_t)BANDS_MOST_THREADS * sizeof(float))))
        return memory_fault(fault, state->scratch_size, BANDS_MOST_THREADS * sizeof(float));
    return STATUS_OK;
}

static void samples_clear(SearchState *state)
{
    perceived_error_free(state->perceived);
    memory_free(state->tiles);
    memory_free(state->scratch);
    state->perceived = NULL;
    state->tiles = NULL;
    state->scratch = NULL;
}

static Status cells_init(SearchState *state, Fault *fault)
{
    const size_t cells = (size_t)state->columns * (size_t)state->rows;
    state->blocks_across = (state->columns + BLOCK_SIDE - 1) / BLOCK_SIDE;
    const size_t blocks =
        (size_t)state->blocks_across * (size_t)((state->rows + BLOCK_SIDE - 1) / BLOCK_SIDE);
    if (!(state->detail = memory_create(cells, sizeof *state->detail)) ||
        !(state->curvature = memory_create(cells, OPPONENT_FORM * sizeof *state->curvature)) ||
        !(state->curvature_age = memory_create(cells, sizeof *state->curvature_age)) ||
        !(state->gradient = memory_create(cells, 3 * sizeof *state->gradient)) ||
        !(state->touched = memory_create(blocks, sizeof *state->touched)))
        return memory_fault(fault, cells, OPPONENT_FORM * sizeof *state->curvature);
    return STATUS_OK;
}

BrickGuess search_problem_bricks(const SearchProblem *problem, const Grid *face)
{
    return (BrickGuess){
        .grid = face, .thrift = problem->weights.thrift, .wall = problem->build == BUILD_WALL};
}

CalmProblem search_problem_calm(const SearchProblem *problem)
{
    return (CalmProblem){.target = problem->target,
                         .palette = problem->palette,
                         .viewpoint = problem->viewpoint,
                         .calm = problem->calm,
                         .share = problem->weights.calm,
                         .threads = problem->threads,
                         .voice = problem->voice};
}

Status search_state_init(SearchState *state, const SearchProblem *problem, Grid *grid, Fault *fault)
{
    const Image *target = problem->target;
    *state = (SearchState){

        .problem = *problem,
        .grid = grid,
        .bricks = search_problem_bricks(problem, grid),
        .columns = target->columns,
        .rows = target->rows};
    /* So near that a cell fills the sight, only the cell itself is seen. */
    Viewpoint *view = &state->problem.viewpoint;
    view->distance_mm =
        fmax(view->distance_mm, 4.0 * fmax(view->cell_width_mm, view->cell_height_mm));
    palette_init(state, problem->palette);
    Status status = samples_init(state, SAMPLES_COARSE, fault);
    if (status == STATUS_OK) status = cells_init(state, fault);
    if (status == STATUS_OK) status = accents_init(state, fault);
    if (status) return status;
    DetailWork work = {state->detail, target, problem->weights.care,
                       problem->detail / DETAIL_SCALE};
    bands_run_until(problem->voice, problem->threads, state->rows, 8, detail_rows, &work);
    perceived_error_linearise(state->perceived, softening);
    show_kept(state);
    state->linearisation = state->sweep = 1;
    return STATUS_OK;
}

Status search_state_refine(SearchState *state, bool at_face, Fault *fault)
{
    const bool finer = perceived_error_has_finer(&state->problem.viewpoint);
    if (finer) {
        samples_clear(state);
        const Status status = samples_init(state, SAMPLES_FINE, fault);
        if (status) return status;
        state->linearisation++;
    }
    if (at_face)
        search_state_linearise(state);
    else if (finer)
        perceived_error_linearise(state->perceived, softening);
    return STATUS_OK;
}

void search_state_clear(SearchState *state)
{
    samples_clear(state);
    calm_clear(&state->calm);
    memory_free(state->detail);
    memory_free(state->accent);
    memory_free(state->curvature);
    memory_free(state->curvature_age);
    memory_free(state->gradient);
    memory_free(state->touched);
    memory_free(state->quotas);
}

/* --- the objective, term by term ------------------------------------------------- */

double search_state_detail(const SearchState *state, size_t at, int colour)
{
    const DetailTarget *t = &state->detail[at];
    if (keep_bars(&state->problem.keep, at, colour)) return INFINITY;
    const double dl = state->factor[FACTOR_LAB][colour] - (double)t->L;
    const double da = state->factor[FACTOR_LAB + 1][colour] - (double)t->a;
    const double db = state->factor[FACTOR_LAB + 2][colour] - (double)t->b;
    double cost = (double)t->lightness * dl * dl + (double)t->chroma * (da * da + db * db) +
                  calm_vivid(&state->calm, at, colour);
    if (state->accent[at] > 0.0f) {
        float lane[LAB_LANES];
        accent_costs(state, at, colour / LAB_LANES * LAB_LANES, LAB_LANES, lane);
        cost += (double)lane[colour % LAB_LANES];
    }
    return cost;
}

/* Of one row, all but bricks. */
static double local_row(const SearchState *state, int row)
{
    const size_t first = search_state_at(state, 0, row);
    double sum = calm_pairs_of_row(&state->calm, state->grid->colour, row);
    for (size_t at = first; at < first + (size_t)state->columns; at++) {
        const int colour = state->grid->colour[at];
        sum += state->colour_price[colour] + search_state_detail(state, at, colour);
    }
    return sum;
}

double search_state_local_terms(const SearchState *state)
{
    double sum =
        state->bricks.price > 0.0 ? state->bricks.price * brick_guess_count(&state->bricks) : 0.0;
    for (int row = 0; row < state->rows && !voice_stopped(state->problem.voice); row++)
        sum += local_row(state, row);
    return sum;
}

double search_state_objective(SearchState *state)
{
    perceived_error_show(state->perceived, state->grid->colour, state->opponent[0]);
    return state->objective =
               perceived_error_evaluate(state->perceived) + search_state_local_terms(state);
}

double search_state_linearise(SearchState *state)
{
    perceived_error_show(state->perceived, state->grid->colour, state->opponent[0]);
    perceived_error_linearise(state->perceived, softening);
    state->linearisation++;
    return state->objective =
               perceived_error_evaluate(state->perceived) + search_state_local_terms(state);
}

typedef double Wide __attribute__((vector_size(32), aligned(8), may_alias));

/* Colour prices, and the sum of the factors by their weights, four colours at a time. */
WIDE static void sum_factors(const SearchState *state, const double *weight, double *cost)
{
    for (int i = 0; i < state->colours; i += 4) {
        Wide sum = *(const Wide *)&state->colour_price[i];
        for (int f = 0; f < COST_FACTORS; f++)
            sum += weight[f] * *(const Wide *)&state->factor[f][i];
        *(Wide *)&cost[i] = sum;
    }
}

void search_state_costs(const SearchState *state, const Cell *c, double cost[COLOUR_SLOTS])
{
    const double *q = c->curvature;
    double linear[3];
    opponent_form_times(q, c->shown, linear);
    for (int p = 0; p < 3; p++) linear[p] = 2.0 * (c->gradient[p] - linear[p]);
    const DetailTarget *t = &state->detail[c->at];
    const double wl = (double)t->lightness, wc = (double)t->chroma;
    const double weight[COST_FACTORS] = {q[0],
                                         2.0 * q[1],
                                         2.0 * q[2],
                                         q[3],
                                         2.0 * q[4],
                                         q[5],
                                         linear[0],
                                         linear[1],
                                         linear[2],
                                         wl,
                                         wc,
                                         -2.0 * wl * (double)t->L,
                                         -2.0 * wc * (double)t->a,
                                         -2.0 * wc * (double)t->b};
    sum_factors(state, weight, cost);
    const uint8_t *colour = state->grid->colour;
    brick_guess_add_costs(&state->bricks, c->column, c->row, cost);
    calm_add_costs(&state->calm, colour, c->column, c->row, cost);
    if (state->accent[c->at] > 0.0f) {
        float accent[COLOUR_SLOTS];
        accent_costs(state, c->at, 0, (state->colours + LAB_LANES - 1) / LAB_LANES * LAB_LANES,
                     accent);
        for (int i = 0; i < state->colours; i++) cost[i] += (double)accent[i];
    }
    for (int i = 0; state->problem.keep.region && i < state->colours; i++)
        if (keep_bars(&state->problem.keep, c->at, i)) cost[i] = INFINITY;
}

/* --- colours and their limits ----------------------------------------------------- */

void search_state_count(const SearchState *state, long count[COLOUR_SLOTS])
{
    memset(count, 0, (COLOUR_SLOTS) * sizeof *count);
    for (size_t i = 0, n = (size_t)state->columns * (size_t)state->rows; i < n; i++)
        count[state->grid->colour[i]]++;
}

long search_state_limit(const SearchState *state, int colour)
{
    if (!state->problem.limit || state->problem.limit[colour] < 0) return LONG_MAX / 2;
    return state->problem.limit[colour] + state->kept[colour];
}

/* --- a cell ---------------------------------------------------------------------- */

Cell search_state_cell(SearchState *state, int column, int row, float *scratch)
{
    Cell c = {.column = column, .row = row, .at = search_state_at(state, column, row)};
    c.colour = state->grid->colour[c.at];
    if (c.colour == NO_COLOUR)
        perceived_error_target(state->perceived, c.at, c.shown);
    else
        memcpy(c.shown, state->value[c.colour], sizeof c.shown);
    c.footprint = perceived_error_footprint(state->perceived, column, row, scratch);
    perceived_error_gradient(state->perceived, &c.footprint, c.gradient);
    for (int p = 0; p < 3; p++) state->gradient[3 * c.at + (size_t)p] = (float)c.gradient[p];
    double *curvature = state->curvature + OPPONENT_FORM * c.at;
    if (state->curvature_age[c.at] != state->linearisation) {
        perceived_error_curvature(state->perceived, &c.footprint, curvature);
        state->curvature_age[c.at] = state->linearisation;
    }
    c.curvature = curvature;
    return c;
}

void search_state_touch(SearchState *state, int column, int row)
{
    const int up = (state->rows + BLOCK_SIDE - 1) / BLOCK_SIDE;
    const int left = (column - BLOCK_SIDE < 0 ? 0 : column - BLOCK_SIDE) / BLOCK_SIDE;
    const int low = (row - BLOCK_SIDE < 0 ? 0 : row - BLOCK_SIDE) / BLOCK_SIDE;
    for (int y = low; y <= (row + BLOCK_SIDE) / BLOCK_SIDE && y < up; y++)
        for (int x = left; x <= (column + BLOCK_SIDE) / BLOCK_SIDE && x < state->blocks_across; x++)
            state->touched[y * state->blocks_across + x] = state->sweep;
}
