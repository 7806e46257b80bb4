#include "cells/search_state.h"

#include "base/bands.h"
#include "base/memory.h"
#include "base/simd8.h"

#include <limits.h>
#include <math.h>
#include <string.h>

/* Differences well below this count by their square. */
static const double ease = 1.0;

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
        const double term[TERMS] = {v[0] * v[0],
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
        for (int t = 0; t < TERMS; t++) state->term[t][c] = term[t];
    }
}

/* A difference seen close by counts by its square over CLOSE_EASE: small ones are what
 * mixing is made of, large ones are specks. */
enum { CLOSE_EASE = 20 };

typedef struct CloseWork {
    SearchState *state;
    const Image *target;
    double detail;
} CloseWork;

static void close_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    const CloseWork *w = context;
    for (int row = begin; row < end; row++)
        for (int column = 0; column < w->target->columns; column++) {
            const Lab lab = lab_from_xyz(image_at(w->target, column, row));
            const double off = (lab.L - 50.0) * (lab.L - 50.0);
            const double sl = 1.0 + 0.015 * off / sqrt(20.0 + off);
            const double sc = 1.0 + 0.045 * hypot(lab.a, lab.b);
            const double weight = w->detail / CLOSE_EASE;
            w->state->close[(size_t)row * (size_t)w->target->columns + (size_t)column] =
                (Close){(float)lab.L, (float)lab.a, (float)lab.b, (float)(weight / (sl * sl)),
                        (float)(weight / (sc * sc))};
        }
}

/* Tiles of one phase have a whole tile between them. Groups and swaps change cells a
 * little beyond their tile, and touch blocks beyond that. */
static void tiles_init(SearchState *state)
{
    state->tile = (retina_reach(state->retina) + 2 * RUN_MOST + BLOCK - 1) / BLOCK * BLOCK;
    if (state->tile < 5 * BLOCK) state->tile = 5 * BLOCK;
    state->tiles_across = (state->columns + state->tile - 1) / state->tile;
    state->tiles_up = (state->rows + state->tile - 1) / state->tile;
}

/* Cells that are kept show what they are from the start, so that what is chosen first makes
 * up for them. */
static void show_kept(SearchState *state)
{
    const size_t cells = (size_t)state->columns * (size_t)state->rows;
    for (int c = state->keep.offered; c > 0 && c < state->colours; c++) state->barred[c] = true;
    for (size_t at = 0; at < cells; at++) {
        uint8_t *colour = &state->grid->colour[at];
        if (!search_state_keeps(state, at)) {
            *colour = NONE;
            continue;
        }
        double target[3], d[3];
        const Spot spot = retina_spot(state->retina, (int)(at % (size_t)state->columns),
                                      (int)(at / (size_t)state->columns), state->scratch);
        retina_target(state->retina, at, target);
        for (int p = 0; p < 3; p++) d[p] = state->value[*colour][p] - target[p];
        retina_shift(state->retina, &spot, d);
        state->kept[*colour]++;
    }
}

/* All that depends on how fine the samples are. */
static Status samples_init(SearchState *state, const Image *target, Fineness fineness, Fault *fault)
{
    const Status status =
        retina_create(&state->retina, target, &state->viewpoint, fineness, state->threads, fault);
    if (status) return status;
    for (int x = 0; x < RUN_MOST; x++)
        for (int y = 0; y < RUN_MOST; y++)
            retina_overlap(state->retina, x, y, state->overlap[x][y]);
    tiles_init(state);
    state->scratch_size = retina_scratch(state->retina);
    const size_t tiles = (size_t)state->tiles_across * (size_t)state->tiles_up;
    if (!(state->tiles = memory_create(tiles, sizeof *state->tiles)) ||
        !(state->scratch =
              memory_create(state->scratch_size, (size_t)BANDS_MOST_THREADS * sizeof(float))))
        return memory_fault(fault, state->scratch_size, BANDS_MOST_THREADS * sizeof(float));
    return STATUS_OK;
}

static void samples_clear(SearchState *state)
{
    retina_free(state->retina);
    memory_free(state->tiles);
    memory_free(state->scratch);
    state->retina = NULL;
    state->tiles = NULL;
    state->scratch = NULL;
}

static Status cells_init(SearchState *state, Fault *fault)
{
    const size_t cells = (size_t)state->columns * (size_t)state->rows;
    state->blocks_across = (state->columns + BLOCK - 1) / BLOCK;
    const size_t blocks =
        (size_t)state->blocks_across * (size_t)((state->rows + BLOCK - 1) / BLOCK);
    if (!(state->close = memory_create(cells, sizeof *state->close)) ||
        !(state->self = memory_create(cells, 6 * sizeof *state->self)) ||
        !(state->self_at = memory_create(cells, sizeof *state->self_at)) ||
        !(state->slope = memory_create(cells, 3 * sizeof *state->slope)) ||
        !(state->touched = memory_create(blocks, sizeof *state->touched)))
        return memory_fault(fault, cells, 6 * sizeof *state->self);
    return STATUS_OK;
}

Status search_state_init(SearchState *state, const Image *target, const Palette *palette,
                         Grid *grid, const Viewpoint *viewpoint, double detail, int threads,
                         Fault *fault)
{
    state->grid = grid;
    state->threads = threads;
    state->columns = target->columns;
    state->rows = target->rows;
    /* So near that a cell fills the sight, only the cell itself is seen. */
    Viewpoint *view = &state->viewpoint;
    *view = *viewpoint;
    view->distance_mm =
        fmax(view->distance_mm, 4.0 * fmax(view->cell_width_mm, view->cell_height_mm));
    palette_init(state, palette);
    Status status = samples_init(state, target, RETINA_ROUGH, fault);
    if (status == STATUS_OK) status = cells_init(state, fault);
    if (status) return status;
    CloseWork work = {state, target, detail};
    bands_run(threads, state->rows, 8, close_rows, &work);
    retina_weigh(state->retina, ease);
    show_kept(state);
    state->weighing = state->sweep = 1;
    return STATUS_OK;
}

Status search_state_look_closer(SearchState *state, const Image *target, Fault *fault)
{
    if (!retina_gains(&state->viewpoint)) return STATUS_OK;
    samples_clear(state);
    const Status status = samples_init(state, target, RETINA_FINE, fault);
    if (status) return status;
    retina_weigh(state->retina, ease);
    state->weighing++;
    return STATUS_OK;
}

void search_state_clear(SearchState *state)
{
    samples_clear(state);
    memory_free(state->close);
    memory_free(state->self);
    memory_free(state->self_at);
    memory_free(state->slope);
    memory_free(state->touched);
    memory_free(state->quota);
}

/* --- the objective ------------------------------------------------------------- */

double search_state_joints(const SearchState *state)
{
    const bool courses = state->build == BUILD_WALL;
    long count = 0;
    for (int row = 0; row < state->rows; row++)
        for (int column = 0; column < state->columns; column++) {
            const int colour = grid_colour(state->grid, column, row);
            count += column && grid_colour(state->grid, column - 1, row) != colour;
            count += row && !courses && grid_colour(state->grid, column, row - 1) != colour;
        }
    return (double)count;
}

double search_state_close(const SearchState *state, size_t at, int colour)
{
    const Close *n = &state->close[at];
    const double dl = state->term[TERM_LAB][colour] - (double)n->L;
    const double da = state->term[TERM_LAB + 1][colour] - (double)n->a;
    const double db = state->term[TERM_LAB + 2][colour] - (double)n->b;
    return (double)n->lightness * dl * dl + (double)n->chroma * (da * da + db * db);
}

double search_state_rest(const SearchState *state)
{
    double sum = 0.0;
    for (int row = 0; row < state->rows; row++) {
        double in_row = 0.0;
        for (int column = 0; column < state->columns; column++) {
            const int colour = grid_colour(state->grid, column, row);
            if (column && grid_colour(state->grid, column - 1, row) != colour)
                in_row += state->price_x;
            if (row && grid_colour(state->grid, column, row - 1) != colour)
                in_row += state->price_y;
            in_row += state->duty[colour] +
                      search_state_close(
                          state, (size_t)row * (size_t)state->columns + (size_t)column, colour);
        }
        sum += in_row;
    }
    return sum;
}

double search_state_objective(SearchState *state)
{
    retina_show(state->retina, state->grid->colour, state->opponent[0]);
    return retina_settle(state->retina) + search_state_rest(state);
}

double search_state_weigh(SearchState *state)
{
    retina_show(state->retina, state->grid->colour, state->opponent[0]);
    retina_weigh(state->retina, ease);
    state->weighing++;
    return retina_settle(state->retina) + search_state_rest(state);
}

void search_state_count(const SearchState *state, long count[NONE + 1])
{
    memset(count, 0, (NONE + 1) * sizeof *count);
    for (size_t i = 0, n = (size_t)state->columns * (size_t)state->rows; i < n; i++)
        count[state->grid->colour[i]]++;
}

long search_state_limit(const SearchState *state, int colour)
{
    if (!state->limit || state->limit[colour] < 0) return LONG_MAX / 2;
    return state->limit[colour] + state->kept[colour];
}

/* --- a cell ---------------------------------------------------------------------- */

Cell search_state_cell(SearchState *state, int column, int row, float *scratch)
{
    Cell c = {.column = column, .row = row};
    c.at = (size_t)row * (size_t)state->columns + (size_t)column;
    c.spot = retina_spot(state->retina, column, row, scratch);
    retina_slope(state->retina, &c.spot, c.slope);
    for (int p = 0; p < 3; p++) state->slope[3 * c.at + (size_t)p] = (float)c.slope[p];
    if (state->self_at[c.at] != state->weighing) {
        retina_self(state->retina, &c.spot, state->self + 6 * c.at);
        state->self_at[c.at] = state->weighing;
    }
    c.self = state->self + 6 * c.at;
    return c;
}

typedef double Wide __attribute__((vector_size(32), aligned(8), may_alias));

/* The sum of the terms by their factors, four colours at a time. */
WIDE static void add_terms(const SearchState *state, const double *factor, double *cost)
{
    for (int i = 0; i < state->colours; i += 4) {
        Wide sum = *(const Wide *)&state->duty[i];
        for (int t = 0; t < TERMS; t++) sum += factor[t] * *(const Wide *)&state->term[t][i];
        *(Wide *)&cost[i] = sum;
    }
}

void search_state_costs(const SearchState *state, const Cell *c, const double now[3],
                        double cost[NONE + 1])
{
    double pull[3];
    times(c->self, now, pull);
    for (int p = 0; p < 3; p++) pull[p] = 2.0 * (c->slope[p] - pull[p]);
    const Close *n = &state->close[c->at];
    const double wl = (double)n->lightness, wc = (double)n->chroma;
    const double factor[TERMS] = {c->self[0],
                                  2.0 * c->self[1],
                                  2.0 * c->self[2],
                                  c->self[3],
                                  2.0 * c->self[4],
                                  c->self[5],
                                  pull[0],
                                  pull[1],
                                  pull[2],
                                  wl,
                                  wc,
                                  -2.0 * wl * (double)n->L,
                                  -2.0 * wc * (double)n->a,
                                  -2.0 * wc * (double)n->b};
    add_terms(state, factor, cost);
}

Near search_state_near(const SearchState *state, int column, int row)
{
    Near n = {0};
    const size_t columns = (size_t)state->columns, at = (size_t)row * columns + (size_t)column;
    if (column > 0) n.at[n.count] = at - 1, n.price[n.count++] = state->price_x;
    if (column + 1 < state->columns) n.at[n.count] = at + 1, n.price[n.count++] = state->price_x;
    if (row > 0) n.at[n.count] = at - columns, n.price[n.count++] = state->price_y;
    if (row + 1 < state->rows) n.at[n.count] = at + columns, n.price[n.count++] = state->price_y;
    return n;
}

void search_state_touch(SearchState *state, int column, int row)
{
    const int up = (state->rows + BLOCK - 1) / BLOCK;
    const int left = (column - BLOCK < 0 ? 0 : column - BLOCK) / BLOCK;
    const int low = (row - BLOCK < 0 ? 0 : row - BLOCK) / BLOCK;
    for (int y = low; y <= (row + BLOCK) / BLOCK && y < up; y++)
        for (int x = left; x <= (column + BLOCK) / BLOCK && x < state->blocks_across; x++)
            state->touched[y * state->blocks_across + x] = state->sweep;
}
