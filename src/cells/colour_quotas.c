/* Limits by prices first: the dual prices of a transportation problem (transport.h) over a sample
 * of the cells join the objective, so that the sweeps themselves give up what they can best do
 * without. What is left over is reassigned by force, the cheapest first.
 *
 * Invariant: kept cells never change, and after colour_quotas_enforce no colour has more cells
 * than its limit. */
#include "cells/colour_quotas.h"

#include "base/bands.h"
#include "base/memory.h"
#include "cells/transport.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* What each colour costs in a cell, all terms, but for a constant. */
static void costs_at(SearchState *state, size_t at, float *scratch, double cost_out[COLOUR_SLOTS])
{
    const int column = (int)(at % (size_t)state->columns), row = (int)(at / (size_t)state->columns);
    const Cell c = search_state_cell(state, column, row, scratch);
    search_state_costs(state, &c, cost_out);
}

static float *worker_scratch(const SearchState *state, int worker)
{
    return state->scratch + (size_t)worker * state->scratch_size;
}

long colour_quotas_excess(const SearchState *state)
{
    long count[COLOUR_SLOTS], excess = 0;
    search_state_count(state, count);
    for (int c = 0; c < state->colours; c++)
        if (count[c] > search_state_limit(state, c))
            excess += count[c] - search_state_limit(state, c);
    return excess;
}

/* ---- prices ----
 *
 * They are the prices that solve the transportation problem of a sample, were each cell's
 * costs to stay as they are. Costs change with the other cells, so a step goes but part of the
 * way. */

enum { SAMPLE_MOST = 8192, FINEST = 8 }; /* cells; parts of 1 that costs are told in */

typedef struct Sample {
    SearchState *state;
    size_t count;
    size_t *cell;
    uint16_t *cost; /* cells x colours */
    uint8_t *colour;
} Sample;

/* What each colour costs in some cells, over the least. */
static void sample_costs(void *context, int begin, int end, int worker)
{
    const Sample *sample = context;
    SearchState *state = sample->state;
    for (int i = begin; i < end; i++) {
        double cost[COLOUR_SLOTS], least = INFINITY;
        costs_at(state, sample->cell[i], worker_scratch(state, worker), cost);
        for (int k = 0; k < state->colours; k++) {
            cost[k] -= state->colour_price[k];
            least = fmin(least, cost[k]);
        }
        for (int k = 0; k < state->colours; k++)
            sample->cost[(size_t)i * (size_t)state->colours + (size_t)k] =
                (uint16_t)fmin(TRANSPORT_NEVER - 1, (cost[k] - least) * FINEST);
    }
}

/* Every so many of the cells that may change. */
static size_t sample_cells(const SearchState *state, size_t *cell)
{
    const size_t cells = (size_t)state->columns * (size_t)state->rows;
    size_t apart = cells / SAMPLE_MOST + 1, count = 0;
    if (apart > 1 && (size_t)state->columns % apart == 0) apart++; /* not all in a few columns */
    for (size_t at = 0; at < cells; at += apart)
        if (!search_state_keeps(state, at)) cell[count++] = at;
    return count;
}

static Status solve_sample(const Sample *sample, double step, const Voice *voice, Fault *fault)
{
    SearchState *state = sample->state;
    const long *given = state->problem.limit;
    long limit[COLOUR_SLOTS];
    int64_t price[COLOUR_SLOTS];
    double all = (double)state->columns * (double)state->rows;
    for (int c = 0; c < state->colours; c++) all -= (double)state->kept[c];
    const double share = (double)sample->count / all;
    for (int c = 0; c < state->colours; c++) {
        limit[c] = -1;
        if (state->barred[c])
            limit[c] = 0;
        else if (given[c] >= 0)
            limit[c] = (long)fmin((double)sample->count, ceil(share * (double)given[c]));
    }
    const Transport problem = {sample->count, state->colours, sample->cost, limit, NULL};
    const Status status = transport_solve(&problem, sample->colour, price, voice, fault);
    for (int c = 0; c < state->colours && !status; c++)
        state->colour_price[c] += step * ((double)price[c] / FINEST - state->colour_price[c]);
    return status;
}

Status colour_quotas_price(SearchState *state, double step, const Voice *voice, Fault *fault)
{
    const size_t row = (size_t)state->colours * sizeof(uint16_t);
    Sample sample = {.state = state,
                     .cell = memory_create(SAMPLE_MOST, sizeof(size_t)),
                     .cost = memory_create(SAMPLE_MOST, row),
                     .colour = memory_create(SAMPLE_MOST, 1)};
    Status status = STATUS_OK;
    if (sample.cell && sample.cost && sample.colour) {
        sample.count = sample_cells(state, sample.cell);
        bands_run(state->problem.threads, (int)sample.count, 64, sample_costs, &sample);
        status = solve_sample(&sample, step, voice, fault);
    } else {
        status = memory_fault(fault, SAMPLE_MOST, row);
    }
    memory_free(sample.colour);
    memory_free(sample.cost);
    memory_free(sample.cell);
    return status;
}

/* ---- by force ---- */

/* A cell, and what it costs it to leave its colour for the best that has room. */
typedef struct Leaver {
    size_t at;
    double cost;
    int to;
} Leaver;

typedef struct Leaving {
    SearchState *state;
    int colour;
    long room[COLOUR_SLOTS]; /* of each colour */
    Leaver *leaver;
    size_t count;
} Leaving;

static void find_best_other(const Leaving *leaving, Leaver *leaver, int worker)
{
    SearchState *state = leaving->state;
    double cost[COLOUR_SLOTS], least = INFINITY;
    costs_at(state, leaver->at, worker_scratch(state, worker), cost);
    leaver->to = leaving->colour;
    for (int i = 0; i < state->colours; i++)
        if (i != leaving->colour && !state->barred[i] && leaving->room[i] > 0 && cost[i] < least)
            least = cost[i], leaver->to = i;
    leaver->cost = least - cost[leaving->colour];
}

static void find_best_others(void *context, int begin, int end, int worker)
{
    const Leaving *leaving = context;
    for (int i = begin; i < end; i++) find_best_other(leaving, &leaving->leaver[i], worker);
}

static int by_cost(const void *a, const void *b)
{
    const Leaver *x = a, *y = b;
    if (x->cost != y->cost) return x->cost < y->cost ? -1 : 1;
    return x->at < y->at ? -1 : x->at > y->at;
}

/* The cells of the colour, in order of what leaving costs them. */
static void find_leavers(Leaving *leaving)
{
    const SearchState *state = leaving->state;
    const size_t cells = (size_t)state->columns * (size_t)state->rows;
    leaving->count = 0;
    for (size_t at = 0; at < cells; at++)
        if (state->grid->colour[at] == leaving->colour && !search_state_keeps(state, at))
            leaving->leaver[leaving->count++] = (Leaver){.at = at};
    bands_run(state->problem.threads, (int)leaving->count, 64, find_best_others, leaving);
    qsort(leaving->leaver, leaving->count, sizeof *leaving->leaver, by_cost);
}

/* Those that can best do without the colour change until its limit holds, or until none is left
 * that may take another. */
static void enforce_limit(Leaving *leaving)
{
    SearchState *state = leaving->state;
    find_leavers(leaving);
    for (size_t i = 0; i < leaving->count && leaving->room[leaving->colour] < 0; i++) {
        Leaver *l = &leaving->leaver[i];
        find_best_other(leaving, l, 0);
        if (l->to == leaving->colour) continue;
        double d[3];
        for (int p = 0; p < 3; p++)
            d[p] = state->value[l->to][p] - state->value[leaving->colour][p];
        const Footprint footprint =
            perceived_error_footprint(state->perceived, (int)(l->at % (size_t)state->columns),
                                      (int)(l->at / (size_t)state->columns), state->scratch);
        perceived_error_shift(state->perceived, &footprint, d);
        state->grid->colour[l->at] = (uint8_t)l->to;
        leaving->room[l->to]--;
        leaving->room[leaving->colour]++;
    }
}

/* ---- where regions bar colours ----
 *
 * What one cell may take, cells that may take anything have perhaps used up: then all choose once
 * more together, by the transportation problem, at their costs of the moment. */

static void open_costs(void *context, int begin, int end, int worker)
{
    const Sample *all = context;
    SearchState *state = all->state;
    for (int i = begin; i < end; i++) {
        uint16_t *out = all->cost + (size_t)i * (size_t)state->colours;
        double cost[COLOUR_SLOTS], least = INFINITY;
        costs_at(state, all->cell[i], worker_scratch(state, worker), cost);
        for (int k = 0; k < state->colours; k++)
            if (!state->barred[k]) least = fmin(least, cost[k]);
        for (int k = 0; k < state->colours; k++)
            out[k] = cost[k] == INFINITY || state->barred[k]
                         ? TRANSPORT_NEVER
                         : (uint16_t)fmin(TRANSPORT_NEVER - 1, (cost[k] - least) * FINEST);
    }
}

static Status solve_together(const Sample *all, const Voice *voice, Fault *fault)
{
    SearchState *state = all->state;
    long limit[COLOUR_SLOTS];
    for (int c = 0; c < state->colours; c++)
        limit[c] = state->barred[c] ? 0 : state->problem.limit[c];
    bands_run(state->problem.threads, (int)all->count, 64, open_costs, (void *)all);
    const Transport problem = {all->count, state->colours, all->cost, limit, NULL};
    const Status status = transport_solve(&problem, all->colour, NULL, voice, fault);
    for (size_t i = 0; i < all->count && !status; i++)
        state->grid->colour[all->cell[i]] = all->colour[i];
    return status;
}

static Status choose_together(SearchState *state, const Voice *voice, Fault *fault)
{
    const size_t cells = (size_t)state->columns * (size_t)state->rows;
    const size_t row = (size_t)state->colours * sizeof(uint16_t);
    Sample all = {.state = state,
                  .cell = memory_create(cells, sizeof(size_t)),
                  .cost = memory_create(cells, row),
                  .colour = memory_create(cells, 1)};
    Status status = STATUS_OK;
    if (all.cell && all.cost && all.colour) {
        for (size_t at = 0; at < cells; at++)
            if (!search_state_keeps(state, at)) all.cell[all.count++] = at;
        status = solve_together(&all, voice, fault);
    } else {
        status = memory_fault(fault, cells, row);
    }
    memory_free(all.colour);
    memory_free(all.cost);
    memory_free(all.cell);
    return status;
}

Status colour_quotas_enforce(SearchState *state, const Voice *voice, Fault *fault)
{
    const size_t cells = (size_t)state->columns * (size_t)state->rows;
    Leaving leaving = {.state = state, .leaver = memory_create(cells, sizeof(Leaver))};
    if (!leaving.leaver) return memory_fault(fault, cells, sizeof(Leaver));
    long count[COLOUR_SLOTS];
    memset(state->colour_price, 0, sizeof state->colour_price);
    search_state_count(state, count);
    for (int c = 0; c < state->colours; c++)
        leaving.room[c] = search_state_limit(state, c) - count[c];
    bool held = true;
    for (int c = 0; c < state->colours; c++) {
        if (leaving.room[c] >= 0) continue;
        leaving.colour = c;
        enforce_limit(&leaving);
        held &= leaving.room[c] == 0;
    }
    memory_free(leaving.leaver);
    return held ? STATUS_OK : choose_together(state, voice, fault);
}

Status colour_quotas_check(SearchState *state, Fault *fault)
{
    long cells = (long)state->columns * (long)state->rows, room = 0;
    for (int c = 0; c < state->colours; c++) cells -= state->kept[c];
    for (int c = 0; c < state->colours; c++) {
        const long limit = search_state_limit(state, c) - state->kept[c];
        state->barred[c] |= limit == 0;
        if (state->barred[c]) continue;
        if (room < cells) room += limit < cells ? limit : cells;
    }
    if (room >= cells) return STATUS_OK;
    return fault_set(fault, STATUS_DATA,
                     "stock: enough for %ld cells of %ld; raise some colour's limit or plan a "
                     "smaller mural",
                     room, cells);
}
