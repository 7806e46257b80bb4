#include "cells/colour_quotas.h"

#include "base/bands.h"
#include "base/memory.h"
#include "cells/transport.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* What each colour costs in a cell, but for a constant; joints and duties counted. */
static void costs_at(SearchState *state, size_t at, float *scratch, double cost_out[NONE + 1])
{
    const int column = (int)(at % (size_t)state->columns), row = (int)(at / (size_t)state->columns);
    const Cell c = search_state_cell(state, column, row, scratch);
    search_state_costs(state, &c, state->value[state->grid->colour[at]], cost_out);
    const Near near = search_state_near(state, column, row);
    for (int i = 0; i < near.count; i++) cost_out[state->grid->colour[near.at[i]]] -= near.price[i];
}

static float *scratch_of(const SearchState *state, int worker)
{
    return state->scratch + (size_t)worker * state->scratch_size;
}

long colour_quotas_excess(const SearchState *state)
{
    long count[NONE + 1], excess = 0;
    search_state_count(state, count);
    for (int c = 0; c < state->colours; c++)
        if (count[c] > search_state_limit(state, c))
            excess += count[c] - search_state_limit(state, c);
    return excess;
}

/* ---- duties ----
 *
 * Duties are the prices that solve the transportation problem of a sample, were each cell's
 * costs to stay as they are. They change with the other cells, so a step goes but part of the
 * way. */

enum { SAMPLE = 8192, FINEST = 8 }; /* cells; parts of 1 that costs are told in */

typedef struct Offer {
    SearchState *state;
    const size_t *cell;
    uint16_t *cost; /* cells x colours */
} Offer;

/* What each colour costs in some cells, over the least. */
static void offer_costs(void *context, int begin, int end, int worker)
{
    const Offer *offer = context;
    SearchState *state = offer->state;
    for (int i = begin; i < end; i++) {
        double cost[NONE + 1], least = INFINITY;
        costs_at(state, offer->cell[i], scratch_of(state, worker), cost);
        for (int k = 0; k < state->colours; k++) {
            cost[k] -= state->duty[k];
            least = fmin(least, cost[k]);
        }
        for (int k = 0; k < state->colours; k++)
            offer->cost[(size_t)i * (size_t)state->colours + (size_t)k] =
                (uint16_t)fmin(UINT16_MAX, (cost[k] - least) * FINEST);
    }
}

/* Every so many of the cells that may change. */
static size_t sample_cells(const SearchState *state, size_t *cell)
{
    const size_t cells = (size_t)state->columns * (size_t)state->rows;
    size_t apart = cells / SAMPLE + 1, count = 0;
    if (apart > 1 && (size_t)state->columns % apart == 0) apart++; /* not all in a few columns */
    for (size_t at = 0; at < cells; at += apart)
        if (!search_state_keeps(state, at)) cell[count++] = at;
    return count;
}

static Status solve_sample(SearchState *state, const Offer *offer, size_t cells, uint8_t *colour,
                           double step, const Voice *voice, Fault *fault)
{
    long limit[NONE + 1];
    int64_t price[NONE + 1];
    double all = (double)state->columns * (double)state->rows;
    for (int c = 0; c < state->colours; c++) all -= (double)state->kept[c];
    const double share = (double)cells / all;
    for (int c = 0; c < state->colours; c++) {
        limit[c] = -1;
        if (state->barred[c])
            limit[c] = 0;
        else if (state->limit[c] >= 0)
            limit[c] = (long)fmin((double)cells, ceil(share * (double)state->limit[c]));
    }
    const Transport ration = {cells, state->colours, offer->cost, limit};
    const Status status = transport_solve(&ration, colour, price, voice, fault);
    for (int c = 0; c < state->colours && !status; c++)
        state->duty[c] += step * ((double)price[c] / FINEST - state->duty[c]);
    return status;
}

Status colour_quotas_tax(SearchState *state, double step, const Voice *voice, Fault *fault)
{
    const size_t row = (size_t)state->colours * sizeof(uint16_t);
    size_t *cell = memory_create(SAMPLE, sizeof *cell);
    uint16_t *cost = memory_create(SAMPLE, row);
    uint8_t *colour = memory_create(SAMPLE, 1);
    Status status = STATUS_OK;
    if (cell && cost && colour) {
        Offer offer = {state, cell, cost};
        const size_t count = sample_cells(state, cell);
        bands_run(state->threads, (int)count, 64, offer_costs, &offer);
        status = solve_sample(state, &offer, count, colour, step, voice, fault);
    } else {
        status = memory_fault(fault, SAMPLE, row);
    }
    memory_free(colour);
    memory_free(cost);
    memory_free(cell);
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
    long room[NONE + 1]; /* of each colour */
    Leaver *leaver;
    size_t count;
} Leaving;

static void find_best(const Leaving *leaving, Leaver *leaver, int worker)
{
    SearchState *state = leaving->state;
    double cost[NONE + 1], least = INFINITY;
    costs_at(state, leaver->at, scratch_of(state, worker), cost);
    for (int i = 0; i < state->colours; i++)
        if (i != leaving->colour && !state->barred[i] && leaving->room[i] > 0 && cost[i] < least)
            least = cost[i], leaver->to = i;
    leaver->cost = least - cost[leaving->colour];
}

static void find_some(void *context, int begin, int end, int worker)
{
    const Leaving *leaving = context;
    for (int i = begin; i < end; i++) find_best(leaving, &leaving->leaver[i], worker);
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
            leaving->leaver[leaving->count++] = (Leaver){.at = at, .to = leaving->colour};
    bands_run(state->threads, (int)leaving->count, 64, find_some, leaving);
    qsort(leaving->leaver, leaving->count, sizeof *leaving->leaver, by_cost);
}

/* Those that can best do without the colour change until its limit holds. */
static void relieve_colour(Leaving *leaving, long excess)
{
    SearchState *state = leaving->state;
    find_leavers(leaving);
    for (size_t i = 0; i < (size_t)excess; i++) {
        Leaver *l = &leaving->leaver[i];
        find_best(leaving, l, 0);
        double d[3];
        for (int p = 0; p < 3; p++)
            d[p] = state->value[l->to][p] - state->value[leaving->colour][p];
        const Spot spot = retina_spot(state->retina, (int)(l->at % (size_t)state->columns),
                                      (int)(l->at / (size_t)state->columns), state->scratch);
        retina_shift(state->retina, &spot, d);
        state->grid->colour[l->at] = (uint8_t)l->to;
        leaving->room[l->to]--;
    }
}

Status colour_quotas_relieve(SearchState *state, Fault *fault)
{
    const size_t cells = (size_t)state->columns * (size_t)state->rows;
    Leaving leaving = {.state = state, .leaver = memory_create(cells, sizeof(Leaver))};
    if (!leaving.leaver) return memory_fault(fault, cells, sizeof(Leaver));
    long count[NONE + 1];
    memset(state->duty, 0, sizeof state->duty);
    search_state_count(state, count);
    for (int c = 0; c < state->colours; c++)
        leaving.room[c] = search_state_limit(state, c) - count[c];
    for (int c = 0; c < state->colours; c++) {
        const long excess = -leaving.room[c];
        if (excess <= 0) continue;
        leaving.colour = c;
        relieve_colour(&leaving, excess);
        leaving.room[c] = 0;
    }
    memory_free(leaving.leaver);
    return STATUS_OK;
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
