#include "look.h"

#include "bands.h"
#include "match.h"
#include "memory.h"
#include "retina.h"

#include <assert.h>
#include <limits.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A cell that has no colour yet counts as showing the target itself, and has no joints. */
enum { NONE = 255 };

/* Cells per block, a side: where nothing changed nearby, blocks are passed over. */
enum { BLOCK = 8 };

/* The cost of a colour in a cell is linear in these: the six products and three values
 * of its opponent values, then L*^2, a*^2 + b*^2, L*, a*, b*. */
enum { TERMS = 14, EYE_TERMS = 9 };

enum { RUN_MOST = 6 }; /* cells that change together, in a row */

/* Differences well below this count by their square. */
static const double ease = 1.0;

/* An improvement smaller than this is rounding. */
static const double least_gain = 1e-3;

typedef struct Close {
    float L, a, b, lightness, chroma; /* target; weights of differences seen close by */
} Close;

typedef struct Tile {
    double gain; /* change of the objective, at most 0 */
    long changes;
} Tile;

typedef struct Look {
    const LookOptions *options;
    Grid *grid;
    Retina *retina;
    int columns, rows, colours;
    double price_x, price_y; /* of a joint between columns, between rows */
    double least_price_x;    /* what thrift asks for at the least */
    double allowed;          /* joints, see joints_allowed */
    float opponent[NONE + 1][3];
    double value[NONE + 1][3]; /* the same */
    double term[TERMS][NONE + 1];
    double overlap[RUN_MOST][RUN_MOST][6]; /* by columns and rows apart */
    double duty[NONE + 1];                 /* price on a scarce colour */
    bool barred[NONE + 1];                 /* limit 0 */
    Close *close;                          /* by cell */
    double *self;                          /* by cell, 6 each */
    int *self_at;                          /* the weighing that self belongs to */
    float *slope;                          /* by cell, 3 each, as learnt last: for guesses only */
    int *touched;                          /* by block: the last sweep with a change nearby */
    int blocks_across;
    int tile, tiles_across, tiles_up;
    Tile *tiles;
    int phase, sweep, weighing;
    bool everywhere; /* this sweep passes nothing over */
    bool together;   /* and moves several cells at once */
    long *quota;     /* by tile and colour, of this phase; NULL: no limits hold yet */
    float *scratch;  /* for each worker */
    size_t scratch_size;
} Look;

/* --- single cells --------------------------------------------------------------------------- */

typedef struct Cell {
    int column, row;
    size_t at;
    Spot spot;
    double slope[3];
    const double *self;
} Cell;

/* What the cell's slope and self cost to learn. */
static Cell cell_at(Look *l, int column, int row, float *scratch)
{
    Cell c = {.column = column, .row = row};
    c.at = (size_t)row * (size_t)l->columns + (size_t)column;
    c.spot = retina_spot(l->retina, column, row, scratch);
    retina_slope(l->retina, &c.spot, c.slope);
    for (int p = 0; p < 3; p++) l->slope[3 * c.at + (size_t)p] = (float)c.slope[p];
    if (l->self_at[c.at] != l->weighing) {
        retina_self(l->retina, &c.spot, l->self + 6 * c.at);
        l->self_at[c.at] = l->weighing;
    }
    c.self = l->self + 6 * c.at;
    return c;
}

static void times(const double m[6], const double v[3], double out[3])
{
    out[0] = m[0] * v[0] + m[1] * v[1] + m[2] * v[2];
    out[1] = m[1] * v[0] + m[3] * v[1] + m[4] * v[2];
    out[2] = m[2] * v[0] + m[4] * v[1] + m[5] * v[2];
}

static double dot(const double a[3], const double b[3])
{
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

typedef double Two __attribute__((vector_size(16), aligned(8), may_alias));

/* The cost of each colour in the cell, but for a constant; joints apart. */
static void colour_costs(const Look *l, const Cell *c, const double now[3], double *cost)
{
    double pull[3];
    times(c->self, now, pull);
    for (int p = 0; p < 3; p++) pull[p] = 2.0 * (c->slope[p] - pull[p]);
    const Close *n = &l->close[c->at];
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
    for (int i = 0; i < l->colours; i += 2) {
        Two sum = *(const Two *)&l->duty[i];
        for (int t = 0; t < TERMS; t++)
            sum += (Two){factor[t], factor[t]} * *(const Two *)&l->term[t][i];
        *(Two *)&cost[i] = sum;
    }
}

/* The neighbours' cells and the prices of the joints with them. */
typedef struct Near {
    int count;
    size_t at[4];
    double price[4];
} Near;

static Near neighbours(const Look *l, int column, int row)
{
    Near n = {0};
    const size_t columns = (size_t)l->columns, at = (size_t)row * columns + (size_t)column;
    if (column > 0) n.at[n.count] = at - 1, n.price[n.count++] = l->price_x;
    if (column + 1 < l->columns) n.at[n.count] = at + 1, n.price[n.count++] = l->price_x;
    if (row > 0) n.at[n.count] = at - columns, n.price[n.count++] = l->price_y;
    if (row + 1 < l->rows) n.at[n.count] = at + columns, n.price[n.count++] = l->price_y;
    return n;
}

/* A block within reach of the change will be looked at again. */
static void touch(Look *l, int column, int row)
{
    const int up = (l->rows + BLOCK - 1) / BLOCK;
    const int left = (column - BLOCK < 0 ? 0 : column - BLOCK) / BLOCK;
    const int low = (row - BLOCK < 0 ? 0 : row - BLOCK) / BLOCK;
    for (int y = low; y <= (row + BLOCK) / BLOCK && y < up; y++)
        for (int x = left; x <= (column + BLOCK) / BLOCK && x < l->blocks_across; x++)
            l->touched[y * l->blocks_across + x] = l->sweep;
}

static long *tile_quota(const Look *l, int tile)
{
    return l->quota ? l->quota + (size_t)tile * (NONE + 1) : NULL;
}

static bool allowed(const Look *l, const long *quota, int colour, int cells)
{
    return !l->barred[colour] && (!quota || quota[colour] >= cells);
}

static void count_change(Tile *tile, long *quota, int was, int now, int cells, double gain)
{
    tile->changes += cells;
    tile->gain += gain;
    if (!quota) return;
    quota[was] += cells;
    quota[now] -= cells;
}

/* The best colour for the cell alone; true if it took another. */
static bool move_cell(Look *l, const Cell *c, Tile *tile, long *quota)
{
    uint8_t *colour = l->grid->colour;
    const int was = colour[c->at];
    double now[3], cost[NONE + 1];
    if (was == NONE)
        retina_target(l->retina, c->at, now);
    else
        memcpy(now, l->value[was], sizeof now);
    colour_costs(l, c, now, cost);
    const Near near = neighbours(l, c->column, c->row);
    for (int i = 0; i < near.count; i++)
        if (colour[near.at[i]] != NONE) cost[colour[near.at[i]]] -= near.price[i];
    int best = was;
    double least = was == NONE ? INFINITY : cost[was] - least_gain;
    for (int i = 0; i < l->colours; i++)
        if (cost[i] < least && i != was && allowed(l, quota, i, 1)) least = cost[i], best = i;
    if (best == was) return false;
    double d[3];
    for (int p = 0; p < 3; p++) d[p] = l->value[best][p] - now[p];
    const double seen = retina_shift(l->retina, &c->spot, d);
    colour[c->at] = (uint8_t)best;
    touch(l, c->column, c->row);
    count_change(tile, quota, was, best, 1, was == NONE ? seen : least - cost[was]);
    return true;
}

/* --- several cells at once ------------------------------------------------------------------ */

/* Cells of one colour that take another together: a run, or two by two. */
typedef struct Group {
    int column, row, columns, rows, was;
} Group;

static bool in_group(const Group *g, size_t at, int columns)
{
    const int column = (int)(at % (size_t)columns), row = (int)(at / (size_t)columns);
    return column >= g->column && column < g->column + g->columns && row >= g->row &&
           row < g->row + g->rows;
}

/* What the joints around the group cost less for each colour, as a gain by colour; those
 * colours, each once, are the candidates. */
static int group_candidates(const Look *l, const Group *g, int *candidate, double *gain)
{
    int count = 0;
    for (int row = g->row; row < g->row + g->rows; row++)
        for (int column = g->column; column < g->column + g->columns; column++) {
            const Near near = neighbours(l, column, row);
            for (int i = 0; i < near.count; i++) {
                if (in_group(g, near.at[i], l->columns)) continue;
                const int colour = l->grid->colour[near.at[i]];
                int k = 0;
                while (k < count && candidate[k] != colour) k++;
                if (k == count) candidate[count] = colour, gain[count++] = 0.0;
                gain[k] += near.price[i];
            }
        }
    return count;
}

/* The sum of A over all pairs of the group's cells, taking the weights to be alike. */
static void group_self(const Look *l, const Group *g, const double self[6], double out[6])
{
    for (int k = 0; k < 6; k++) out[k] = 0.0;
    for (int x = 0; x < g->columns; x++)
        for (int y = 0; y < g->rows; y++) {
            const double times_seen = (x ? 2.0 : 1.0) * (double)(g->columns - x) * (y ? 2.0 : 1.0) *
                                      (double)(g->rows - y);
            for (int k = 0; k < 6; k++) out[k] += times_seen * self[k] * l->overlap[x][y][k];
        }
}

static double close_cost(const Look *l, size_t at, int colour)
{
    const Close *n = &l->close[at];
    const double dl = l->term[11][colour] - (double)n->L;
    const double da = l->term[12][colour] - (double)n->a;
    const double db = l->term[13][colour] - (double)n->b;
    return (double)n->lightness * dl * dl + (double)n->chroma * (da * da + db * db);
}

/* Changes all cells of the group; returns what reaches the eye more. */
static double group_shift(Look *l, const Group *g, const double d[3], float *scratch)
{
    double sum = 0.0;
    for (int row = g->row; row < g->row + g->rows; row++)
        for (int column = g->column; column < g->column + g->columns; column++) {
            const Spot spot = retina_spot(l->retina, column, row, scratch);
            sum += retina_shift(l->retina, &spot, d);
        }
    return sum;
}

static void group_take(Look *l, const Group *g, int colour)
{
    for (int row = g->row; row < g->row + g->rows; row++)
        for (int column = g->column; column < g->column + g->columns; column++) {
            l->grid->colour[(size_t)row * (size_t)l->columns + (size_t)column] = (uint8_t)colour;
            touch(l, column, row);
        }
}

/* What a group is offered. */
typedef struct Offer {
    int count, candidate[4 * RUN_MOST];
    double rest[4 * RUN_MOST]; /* change of all but what reaches the eye */
} Offer;

static void offer_make(const Look *l, const Group *g, const long *quota, Offer *offer)
{
    double gain[4 * RUN_MOST], stay = 0.0;
    int candidate[4 * RUN_MOST];
    const int cells = g->columns * g->rows, count = group_candidates(l, g, candidate, gain);
    for (int i = 0; i < count; i++)
        if (candidate[i] == g->was) stay = gain[i];
    offer->count = 0;
    for (int i = 0; i < count; i++) {
        const int to = candidate[i];
        if (to == g->was || !allowed(l, quota, to, cells)) continue;
        double rest = stay - gain[i] + cells * (l->duty[to] - l->duty[g->was]);
        for (int row = g->row; row < g->row + g->rows; row++)
            for (int column = g->column; column < g->column + g->columns; column++) {
                const size_t at = (size_t)row * (size_t)l->columns + (size_t)column;
                rest += close_cost(l, at, to) - close_cost(l, at, g->was);
            }
        offer->candidate[offer->count] = to;
        offer->rest[offer->count++] = rest;
    }
}

/* The best of the offer by an estimate, from the slopes as learnt last; -1: none. */
static int offer_best(const Look *l, const Group *g, const Offer *offer)
{
    double slope[3] = {0.0}, self[6];
    for (int row = g->row; row < g->row + g->rows; row++)
        for (int column = g->column; column < g->column + g->columns; column++) {
            const float *s = l->slope + 3 * ((size_t)row * (size_t)l->columns + (size_t)column);
            for (int p = 0; p < 3; p++) slope[p] += (double)s[p];
        }
    group_self(l, g, l->self + 6 * ((size_t)g->row * (size_t)l->columns + (size_t)g->column), self);
    int best = -1;
    double least = -least_gain;
    for (int i = 0; i < offer->count; i++) {
        double d[3], pulled[3];
        for (int p = 0; p < 3; p++) d[p] = l->value[offer->candidate[i]][p] - l->value[g->was][p];
        times(self, d, pulled);
        const double change = 2.0 * dot(d, slope) + dot(d, pulled) + offer->rest[i];
        if (change < least) least = change, best = i;
    }
    return best;
}

/* Proposes by the estimate, twice where need be; decides by the exact change. */
static void move_group(Look *l, const Group *g, Tile *tile, long *quota, float *scratch)
{
    Offer offer;
    offer_make(l, g, quota, &offer);
    if (offer.count == 0 || offer_best(l, g, &offer) < 0) return;
    for (int row = g->row; row < g->row + g->rows; row++)
        for (int column = g->column; column < g->column + g->columns; column++)
            cell_at(l, column, row, scratch);
    const int best = offer_best(l, g, &offer);
    if (best < 0) return;
    double d[3];
    const int to = offer.candidate[best];
    for (int p = 0; p < 3; p++) d[p] = l->value[to][p] - l->value[g->was][p];
    const double change = group_shift(l, g, d, scratch) + offer.rest[best];
    if (change < -least_gain) {
        group_take(l, g, to);
        count_change(tile, quota, g->was, to, g->columns * g->rows, change);
        return;
    }
    for (int p = 0; p < 3; p++) d[p] = -d[p];
    group_shift(l, g, d, scratch);
}

static bool same(const Look *l, int column, int row, int colour)
{
    return column >= 0 && row >= 0 && column < l->columns && row < l->rows &&
           grid_colour(l->grid, column, row) == colour;
}

/* The groups that start at a cell: a whole short run along the row, one up the column,
 * and two by two. */
static void move_groups(Look *l, int column, int row, Tile *tile, long *quota, float *scratch)
{
    int was = grid_colour(l->grid, column, row), run = 1;
    if (l->price_x > 0.0 && !same(l, column - 1, row, was)) {
        while (run <= RUN_MOST && same(l, column + run, row, was)) run++;
        if (run > 1 && run <= RUN_MOST)
            move_group(l, &(Group){column, row, run, 1, was}, tile, quota, scratch);
    }
    if (l->price_y <= 0.0) return;
    was = grid_colour(l->grid, column, row);
    run = 1;
    if (!same(l, column, row - 1, was)) {
        while (run <= RUN_MOST && same(l, column, row + run, was)) run++;
        if (run > 1 && run <= RUN_MOST)
            move_group(l, &(Group){column, row, 1, run, was}, tile, quota, scratch);
    }
    was = grid_colour(l->grid, column, row);
    if (same(l, column + 1, row, was) && same(l, column, row + 1, was) &&
        same(l, column + 1, row + 1, was))
        move_group(l, &(Group){column, row, 2, 2, was}, tile, quota, scratch);
}

/* --- swaps, which keep the count of every colour ---------------------------------------------- */

/* Joints that the two cells have with all others, were they of these colours. */
static double joints_of(const Look *l, const Cell *c, const Cell *other, int colour,
                        int other_colour)
{
    const Near near = neighbours(l, c->column, c->row);
    double sum = 0.0;
    for (int i = 0; i < near.count; i++) {
        const int beside = near.at[i] == other->at ? other_colour : l->grid->colour[near.at[i]];
        if (beside != colour) sum += near.price[i];
    }
    return sum;
}

static void swap_cells(Look *l, int column, int row, int dx, int dy, Tile *tile, float *scratch)
{
    uint8_t *colour = l->grid->colour;
    Cell one = cell_at(l, column, row, scratch);
    const Cell two = cell_at(l, column + dx, row + dy, scratch);
    const int a = colour[one.at], b = colour[two.at];
    double d[3], back[3], apart[3], pulled[3], self[6];
    const double *overlap = l->overlap[abs(dx)][dy];
    for (int p = 0; p < 3; p++) {
        d[p] = l->value[b][p] - l->value[a][p];
        back[p] = -d[p];
        apart[p] = one.slope[p] - two.slope[p];
    }
    for (int k = 0; k < 6; k++)
        self[k] = one.self[k] + two.self[k] - (one.self[k] + two.self[k]) * overlap[k];
    times(self, d, pulled);
    const double rest = joints_of(l, &one, &two, b, a) + joints_of(l, &two, &one, a, b) -
                        joints_of(l, &one, &two, a, b) - joints_of(l, &two, &one, b, a) +
                        close_cost(l, one.at, b) + close_cost(l, two.at, a) -
                        close_cost(l, one.at, a) - close_cost(l, two.at, b);
    if (2.0 * dot(d, apart) + dot(d, pulled) + rest > -least_gain) return;
    double seen = retina_shift(l->retina, &two.spot, back);
    one.spot = retina_spot(l->retina, column, row, scratch);
    seen += retina_shift(l->retina, &one.spot, d);
    if (seen + rest < -least_gain) {
        colour[one.at] = (uint8_t)b;
        colour[two.at] = (uint8_t)a;
        touch(l, column, row);
        touch(l, column + dx, row + dy);
        count_change(tile, NULL, a, b, 2, seen + rest);
        return;
    }
    retina_shift(l->retina, &one.spot, back);
    const Spot spot = retina_spot(l->retina, column + dx, row + dy, scratch);
    retina_shift(l->retina, &spot, d);
}

/* The joint between two neighbours counts on both sides in joints_of, before and after
 * alike, so it drops out. */
static void move_swaps(Look *l, int column, int row, Tile *tile, float *scratch)
{
    static const int offset[][2] = {{1, 0}, {0, 1}, {1, 1}, {-1, 1}, {2, 0}, {0, 2}};
    for (size_t i = 0; i < sizeof offset / sizeof *offset; i++) {
        const int x = column + offset[i][0], y = row + offset[i][1];
        if (x < 0 || x >= l->columns || y >= l->rows) continue;
        if (grid_colour(l->grid, x, y) == grid_colour(l->grid, column, row)) continue;
        swap_cells(l, column, row, offset[i][0], offset[i][1], tile, scratch);
    }
}

/* --- sweeps ------------------------------------------------------------------------------------
 */

static void visit(Look *l, int column, int row, Tile *tile, long *quota, float *scratch)
{
    const Cell c = cell_at(l, column, row, scratch);
    move_cell(l, &c, tile, quota);
    if (l->together) move_groups(l, column, row, tile, quota, scratch);
    if (quota) move_swaps(l, column, row, tile, scratch);
}

static bool passed_over(const Look *l, int column, int row)
{
    return !l->everywhere &&
           l->touched[row / BLOCK * l->blocks_across + column / BLOCK] < l->sweep - 1;
}

/* Tiles of one phase have a whole tile between them, so that nothing one of them changes
 * is seen by another: in any order, on any thread, they come out the same. */
static void sweep_tiles(void *context, int begin, int end, int worker)
{
    Look *l = context;
    float *scratch = l->scratch + (size_t)worker * l->scratch_size;
    const int across = (l->tiles_across + 1) / 2;
    for (int i = begin; i < end; i++) {
        const int tx = 2 * (i % across) + l->phase % 2, ty = 2 * (i / across) + l->phase / 2;
        if (tx >= l->tiles_across || ty >= l->tiles_up) continue;
        const int at = ty * l->tiles_across + tx;
        const int right = (tx + 1) * l->tile < l->columns ? (tx + 1) * l->tile : l->columns;
        const int top = (ty + 1) * l->tile < l->rows ? (ty + 1) * l->tile : l->rows;
        for (int row = ty * l->tile; row < top; row++)
            for (int column = tx * l->tile; column < right; column++)
                if (!passed_over(l, column, row))
                    visit(l, column, row, &l->tiles[at], tile_quota(l, at), scratch);
    }
}

static void count_colours(const Look *l, long count[NONE + 1])
{
    memset(count, 0, (NONE + 1) * sizeof *count);
    for (size_t i = 0, n = (size_t)l->columns * (size_t)l->rows; i < n; i++)
        count[l->grid->colour[i]]++;
}

/* What is left of each colour is dealt to the tiles of the phase. */
static void deal_quotas(Look *l)
{
    long count[NONE + 1];
    count_colours(l, count);
    const int tiles = l->tiles_across * l->tiles_up;
    int dealt = 0;
    for (int t = 0; t < tiles; t++)
        dealt += t % l->tiles_across % 2 == l->phase % 2 && t / l->tiles_across % 2 == l->phase / 2;
    for (int t = 0, nth = 0; t < tiles; t++) {
        if (t % l->tiles_across % 2 != l->phase % 2 || t / l->tiles_across % 2 != l->phase / 2)
            continue;
        for (int c = 0; c < l->colours; c++) {
            const long limit = l->options->limit[c], left = limit - count[c];
            const int turn = (nth + l->sweep) % dealt;
            tile_quota(l, t)[c] =
                limit < 0 ? LONG_MAX / 2 : left / dealt + (turn < (int)(left % dealt));
        }
        nth++;
    }
}

/* One pass over all cells; returns the number of changes, adds to *objective. */
static long sweep_all(Look *l, double *objective)
{
    const int tiles = l->tiles_across * l->tiles_up;
    for (int t = 0; t < tiles; t++) l->tiles[t] = (Tile){0};
    const int rounds = (l->tiles_across + 1) / 2 * ((l->tiles_up + 1) / 2);
    for (l->phase = 0; l->phase < 4; l->phase++) {
        if (l->quota) deal_quotas(l);
        bands_run(l->options->threads, rounds, 1, sweep_tiles, l);
    }
    long changes = 0;
    for (int t = 0; t < tiles; t++) {
        changes += l->tiles[t].changes;
        *objective += l->tiles[t].gain;
    }
    return changes;
}

/* --- the objective ---------------------------------------------------------------------------- */

/* What thrift asks for at the least, in units of CIEDE2000 over one cell. From farther
 * off a joint is worth more, because there mixing saves more difference by each. */
static void least_prices(Look *l)
{
    const LookOptions *o = l->options;
    const double cell = eye_degrees(sqrt(o->viewpoint.cell_width_mm * o->viewpoint.cell_height_mm),
                                    o->viewpoint.distance_mm);
    const double far = fmin(fmax(sqrt(0.0573 / cell), 0.5), 2.0);
    const double price = 38.0 * far * o->thrift * o->thrift * o->thrift;
    /* A joint along a course is a brick; in a plaque a brick has joints on all sides. */
    l->price_x = o->build == BUILD_WALL ? 1.6 * price : price;
    l->price_y = o->build == BUILD_WALL ? 0.0 : price;
    l->least_price_x = l->price_x;
}

/* Joints that cost bricks. */
static double joints_count(const Look *l)
{
    const bool courses = l->options->build == BUILD_WALL;
    long count = 0;
    for (int row = 0; row < l->rows; row++)
        for (int column = 0; column < l->columns; column++) {
            const int colour = grid_colour(l->grid, column, row);
            count += column && grid_colour(l->grid, column - 1, row) != colour;
            count += row && !courses && grid_colour(l->grid, column, row - 1) != colour;
        }
    return (double)count;
}

static double joints_and_close(const Look *l)
{
    double sum = 0.0;
    for (int row = 0; row < l->rows; row++) {
        double in_row = 0.0;
        for (int column = 0; column < l->columns; column++) {
            const int colour = grid_colour(l->grid, column, row);
            if (column && grid_colour(l->grid, column - 1, row) != colour) in_row += l->price_x;
            if (row && grid_colour(l->grid, column, row - 1) != colour) in_row += l->price_y;
            in_row += l->duty[colour] +
                      close_cost(l, (size_t)row * (size_t)l->columns + (size_t)column, colour);
        }
        sum += in_row;
    }
    return sum;
}

/* From scratch, by the weights in force. */
static double objective_anew(Look *l)
{
    retina_show(l->retina, l->grid->colour, l->opponent[0]);
    return retina_settle(l->retina) + joints_and_close(l);
}

/* Linearises the difference at the face as it is now. */
static double weigh_anew(Look *l)
{
    retina_show(l->retina, l->grid->colour, l->opponent[0]);
    retina_weigh(l->retina, ease);
    l->weighing++;
    return retina_settle(l->retina) + joints_and_close(l);
}

/* --- limits
 * --------------------------------------------------------------------------------------- */

static long limit_of(const Look *l, int colour)
{
    return l->options->limit && l->options->limit[colour] >= 0 ? l->options->limit[colour]
                                                               : LONG_MAX / 2;
}

/* Raises the price of colours that are used too much, lowers it where there is room again. */
static bool adjust_duties(Look *l)
{
    long count[NONE + 1];
    bool over = false;
    count_colours(l, count);
    for (int c = 0; c < l->colours; c++) {
        const long limit = limit_of(l, c);
        if (count[c] > limit) {
            l->duty[c] += 0.25 + 0.5 * fmin(4.0, (double)(count[c] - limit) / (double)(limit + 1));
            over = true;
        } else if (l->duty[c] > 0.0 && count[c] < limit - limit / 16) {
            l->duty[c] *= 0.8;
        }
    }
    return over;
}

typedef struct Leaver {
    double cost;
    size_t at;
} Leaver;

static int by_cost(const void *a, const void *b)
{
    const Leaver *x = a, *y = b;
    if (x->cost != y->cost) return x->cost < y->cost ? -1 : 1;
    return x->at < y->at ? -1 : x->at > y->at;
}

/* What it costs a cell to leave its colour for the best that has room. */
static double leaving_cost(Look *l, const Cell *c, const long *room, int *to_out)
{
    double cost[NONE + 1];
    const int was = l->grid->colour[c->at];
    colour_costs(l, c, l->value[was], cost);
    const Near near = neighbours(l, c->column, c->row);
    for (int i = 0; i < near.count; i++) cost[l->grid->colour[near.at[i]]] -= near.price[i];
    double least = INFINITY;
    for (int i = 0; i < l->colours; i++)
        if (i != was && !l->barred[i] && room[i] > 0 && cost[i] < least)
            least = cost[i], *to_out = i;
    return least - cost[was];
}

/* The cells of one colour that can best do without it change until its limit holds. */
static void relieve_colour(Look *l, int colour, long excess, long *room, Leaver *leaver)
{
    const size_t cells = (size_t)l->columns * (size_t)l->rows;
    size_t count = 0;
    int to = colour;
    for (size_t at = 0; at < cells; at++) {
        if (l->grid->colour[at] != colour) continue;
        const Cell c =
            cell_at(l, (int)(at % (size_t)l->columns), (int)(at / (size_t)l->columns), l->scratch);
        leaver[count++] = (Leaver){leaving_cost(l, &c, room, &to), at};
    }
    qsort(leaver, count, sizeof *leaver, by_cost);
    for (size_t i = 0; i < (size_t)excess; i++) {
        const size_t at = leaver[i].at;
        const Cell c =
            cell_at(l, (int)(at % (size_t)l->columns), (int)(at / (size_t)l->columns), l->scratch);
        leaving_cost(l, &c, room, &to);
        double d[3];
        for (int p = 0; p < 3; p++) d[p] = l->value[to][p] - l->value[colour][p];
        retina_shift(l->retina, &c.spot, d);
        l->grid->colour[at] = (uint8_t)to;
        room[to]--;
    }
}

/* Afterwards every limit holds. */
static Status relieve_all(Look *l, Fault *fault)
{
    const size_t cells = (size_t)l->columns * (size_t)l->rows;
    Leaver *leaver = memory_create(cells, sizeof *leaver);
    if (!leaver) return memory_fault(fault, cells, sizeof *leaver);
    long count[NONE + 1], room[NONE + 1];
    count_colours(l, count);
    for (int c = 0; c < l->colours; c++) room[c] = limit_of(l, c) - count[c];
    for (int c = 0; c < l->colours; c++)
        if (room[c] < 0) {
            relieve_colour(l, c, -room[c], room, leaver);
            room[c] = 0;
        }
    memory_free(leaver);
    return STATUS_OK;
}

static Status check_limits(const Look *l, Fault *fault)
{
    const long cells = (long)l->columns * (long)l->rows;
    long room = 0;
    for (int c = 0; c < l->colours && room < cells; c++) {
        const long limit = limit_of(l, c);
        room += limit < cells ? limit : cells;
    }
    if (room >= cells) return STATUS_OK;
    return fault_set(fault, STATUS_DATA,
                     "stock: enough for %ld cells of %ld; raise some colour's limit or plan a "
                     "smaller mural",
                     room, cells);
}

/* --- the search
 * ----------------------------------------------------------------------------------- */

/* Pictures differ: where the plain nearest colour makes large even fields, mixing makes
 * bricks at any price. So thrift also caps the joints at a share of what the nearest
 * colour has: as many at 0.5, a quarter at 1, four times at 0.25. */
static Status joints_allowed(Look *l, const Image *target, const Palette *palette,
                             const Voice *voice, Fault *fault)
{
    l->allowed = INFINITY;
    if (l->options->thrift <= 0.0) return STATUS_OK;
    Match *match;
    Status status = match_create(&match, palette, fault);
    if (status) return status;
    status = match_image(match, target, l->options->threads, l->grid, voice, fault);
    match_free(match);
    const double share = 0.5 / l->options->thrift;
    /* Runs and squares of cells make more of their joints than the nearest colour's rags. */
    const double even = l->options->build == BUILD_WALL ? 0.95 : 1.25;
    l->allowed = even * share * share * joints_count(l);
    return status;
}

/* Moves the price toward where the joints come out as allowed, never below the least. */
static void adjust_price(Look *l, double *objective)
{
    const double over = joints_count(l) / fmax(l->allowed, 1.0);
    const double least = l->least_price_x, now = l->price_x;
    double factor = fmin(fmax(pow(over, 1.5), 0.7), 2.0);
    if (over > 0.97 && over < 1.0) factor = 1.0;
    factor = fmax(factor, least / now);
    if (now <= 0.0 || factor == 1.0) return;
    *objective -= joints_and_close(l);
    l->price_x *= factor;
    l->price_y *= factor;
    *objective += joints_and_close(l);
}

static void look_clear(Look *l)
{
    retina_free(l->retina);
    memory_free(l->close);
    memory_free(l->self);
    memory_free(l->self_at);
    memory_free(l->slope);
    memory_free(l->touched);
    memory_free(l->tiles);
    memory_free(l->quota);
    memory_free(l->scratch);
}

static void palette_init(Look *l, const Palette *palette)
{
    l->colours = palette->count;
    for (int c = 0; c < palette->count; c++) {
        const Colour *colour = &palette->colour[c];
        double exact[3];
        eye_from_xyz(colour->xyz, exact);
        /* What changes must be just what is shown, and faces are shown as floats. Rounded
         * by arithmetic: gcc 12 can lose a rounding that a float and back is to make. */
        for (int p = 0; p < 3; p++) l->value[c][p] = rint(exact[p] * 0x1p22) * 0x1p-22;
        for (int p = 0; p < 3; p++) l->opponent[c][p] = (float)l->value[c][p];
        const double *v = l->value[c];
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
        for (int t = 0; t < TERMS; t++) l->term[t][c] = term[t];
        l->barred[c] = limit_of(l, c) == 0;
    }
}

/* A difference seen close by counts by its square over CLOSE_EASE: small ones are what
 * mixing is made of, large ones are specks. */
enum { CLOSE_EASE = 20 };

typedef struct CloseWork {
    Look *look;
    const Image *target;
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
            const double weight = w->look->options->detail / CLOSE_EASE;
            w->look->close[(size_t)row * (size_t)w->target->columns + (size_t)column] =
                (Close){(float)lab.L, (float)lab.a, (float)lab.b, (float)(weight / (sl * sl)),
                        (float)(weight / (sc * sc))};
        }
}

static Status look_init(Look *l, const Image *target, const Palette *palette, Fault *fault)
{
    const LookOptions *o = l->options;
    Viewpoint view = o->viewpoint;
    /* So near that a cell fills the sight, only the cell itself is seen. */
    view.distance_mm = fmax(view.distance_mm, 4.0 * fmax(view.cell_width_mm, view.cell_height_mm));
    l->columns = target->columns;
    l->rows = target->rows;
    palette_init(l, palette);
    Status status = check_limits(l, fault);
    if (!status) status = retina_create(&l->retina, target, &view, o->threads, fault);
    if (status) return status;
    least_prices(l);
    for (int x = 0; x < RUN_MOST; x++)
        for (int y = 0; y < RUN_MOST; y++) retina_overlap(l->retina, x, y, l->overlap[x][y]);
    /* Groups and swaps change cells a little beyond their tile. */
    l->tile = (retina_reach(l->retina) + 2 * RUN_MOST + BLOCK - 1) / BLOCK * BLOCK;
    if (l->tile < 5 * BLOCK) l->tile = 5 * BLOCK;
    l->tiles_across = (l->columns + l->tile - 1) / l->tile;
    l->tiles_up = (l->rows + l->tile - 1) / l->tile;
    l->blocks_across = (l->columns + BLOCK - 1) / BLOCK;
    l->scratch_size = retina_scratch(l->retina);
    const size_t cells = (size_t)l->columns * (size_t)l->rows;
    const size_t tiles = (size_t)l->tiles_across * (size_t)l->tiles_up;
    const size_t blocks = (size_t)l->blocks_across * (size_t)((l->rows + BLOCK - 1) / BLOCK);
    if (!(l->close = memory_create(cells, sizeof *l->close)) ||
        !(l->self = memory_create(cells, 6 * sizeof *l->self)) ||
        !(l->self_at = memory_create(cells, sizeof *l->self_at)) ||
        !(l->slope = memory_create(cells, 3 * sizeof *l->slope)) ||
        !(l->touched = memory_create(blocks, sizeof *l->touched)) ||
        !(l->tiles = memory_create(tiles, sizeof *l->tiles)) ||
        !(l->scratch = memory_create(l->scratch_size, (size_t)BANDS_MOST_THREADS * sizeof(float))))
        return memory_fault(fault, cells, 6 * sizeof *l->self);
    CloseWork work = {l, target};
    bands_run(o->threads, l->rows, 8, close_rows, &work);
    return STATUS_OK;
}

static Status keep_going(const Look *l, const Voice *voice, Fault *fault)
{
    voice_progress(voice, "look", (double)l->sweep / (double)l->options->sweeps);
    if (!voice_stopped(voice)) return STATUS_OK;
    return fault_set(fault, STATUS_INTERRUPTED, "look: stopped; run the plan again");
}

enum { PRICE_SWEEPS = 3 }; /* in which the price may still move */

/* Sweeps until next to nothing changes. The first few linearise anew. */
static Status sweep_until_still(Look *l, bool adapt, double *objective, LookReport *report,
                                const Voice *voice, Fault *fault)
{
    const size_t cells = (size_t)l->columns * (size_t)l->rows;
    const long still = (long)(cells / 150);
    const int fresh = l->sweep + l->options->reweighings, end = l->sweep + l->options->sweeps;
    const int steady = adapt ? l->sweep + PRICE_SWEEPS : fresh;
    bool calm = false;
    while (l->sweep < end) {
        Status status = keep_going(l, voice, fault);
        if (status) return status;
        l->everywhere = l->sweep <= steady || calm;
        l->together = l->price_x > 0.0;
        if (l->sweep < fresh) *objective = weigh_anew(l);
        if (l->sweep < steady && adapt) adjust_price(l, objective);
        const long changes = sweep_all(l, objective);
        report->changes += changes;
        l->sweep++;
        /* Small faces are swept until a whole sweep finds nothing. */
        if (l->sweep > steady && changes <= still && (still > 0 || l->everywhere)) break;
        calm = changes == 0;
    }
    return STATUS_OK;
}

Status look_search(const Image *target, const Palette *palette, const LookOptions *options,
                   Grid *grid, LookReport *report_out, const Voice *voice, Fault *fault)
{
    assert(palette->count > 0 && palette->count < NONE);
    assert(grid->columns == target->columns && grid->rows == target->rows);
    Look *l = memory_create(1, sizeof *l);
    if (!l) return memory_fault(fault, 1, sizeof *l);
    l->options = options;
    l->grid = grid;
    LookReport report = {0};
    double objective = 0.0;
    Status status = look_init(l, target, palette, fault);
    if (status == STATUS_OK) status = joints_allowed(l, target, palette, voice, fault);
    if (status == STATUS_OK) {
        /* The first sweep chooses each cell while those not chosen yet show the target. */
        memset(grid->colour, NONE, (size_t)l->columns * (size_t)l->rows);
        l->weighing = 1;
        l->sweep = 1;
        l->everywhere = true;
        retina_weigh(l->retina, ease);
        report.changes = sweep_all(l, &objective);
        if (options->reweighings == 0) objective = objective_anew(l);
        status = sweep_until_still(l, isfinite(l->allowed), &objective, &report, voice, fault);
    }
    if (status == STATUS_OK && options->limit) {
        for (int i = 0; i < 12 && status == STATUS_OK && adjust_duties(l); i++) {
            objective = objective_anew(l);
            l->everywhere = true;
            report.changes += sweep_all(l, &objective);
            l->sweep++;
            status = keep_going(l, voice, fault);
        }
        memset(l->duty, 0, sizeof l->duty);
        if (status == STATUS_OK) status = relieve_all(l, fault);
        const size_t tiles = (size_t)l->tiles_across * (size_t)l->tiles_up;
        if (status == STATUS_OK) {
            l->quota = memory_create(tiles, (NONE + 1) * sizeof *l->quota);
            if (!l->quota) status = memory_fault(fault, tiles, (NONE + 1) * sizeof *l->quota);
        }
        if (status == STATUS_OK) {
            objective = objective_anew(l);
            status = sweep_until_still(l, false, &objective, &report, voice, fault);
        }
    }
    if (status == STATUS_OK) {
        report.followed = objective;
        report.objective = objective_anew(l);
        report.sweeps = l->sweep;
        report.price_x = l->price_x;
        report.price_y = l->price_y;
        if (report_out) *report_out = report;
    }
    look_clear(l);
    memory_free(l);
    return status;
}
