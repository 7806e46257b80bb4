/* A mural cut into cards by two programs of shortest ways.
 *
 * Idea. Within a band, the best cut of its first columns is the best cut of fewer and one card
 * more: a shortest way over the columns. Over the rows it is the same, with a band for an edge. How
 * a card will be laid is not known yet: each brick of an earlier laying is shared out over its
 * cells, and the colours of a card are the union of those of its cells.
 *
 * Invariants. Every card keeps the limits. Of equal cuts the first found stays.
 *
 * Source. Dynamic programming (Bellman), as for breaking text into lines (Knuth and Plass 1981,
 * Softw. Pract. Exper. 11:1119-1184, from memory). */
#include "bricks/cards.h"

#include "base/memory.h"
#include "model/palette.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

/* ---- what was laid ---- */

static CardSpread close_spread(CardSpread s, double squares)
{
    s.mean /= s.cards;
    s.deviation = sqrt(fmax(0.0, squares / s.cards - s.mean * s.mean)) / s.mean;
    return s;
}

CardSpread cards_spread(const Panels *panels, const Laid *laid)
{
    CardSpread s = {.cards = panels->count, .least = INFINITY};
    double squares = 0.0;
    for (size_t i = 0, next; i < laid->count; i = next) {
        bool seen[PALETTE_MOST] = {false};
        int colours = 0;
        for (next = i; next < laid->count && laid->brick[next].panel == laid->brick[i].panel;
             next++) {
            bool *colour = &seen[laid->brick[next].colour];
            colours += !*colour;
            *colour = true;
        }
        const double asks = card_difficulty((long)(next - i), colours);
        s.least = fmin(s.least, asks);
        s.most = fmax(s.most, asks);
        s.mean += asks;
        squares += asks * asks;
    }
    return close_spread(s, squares);
}

/* ---- the cut ---- */

enum { SET_BITS = 64 };

typedef struct Cutting {
    const Solid *solid;
    CardLimits limits;
    int columns, rows;
    size_t words;     /* of a set of colours */
    double *share;    /* bricks in a cell */
    uint64_t *colour; /* sets: the colours in a cell */
    /* The band in hand, column by column. */
    double *bricks, *units;
    uint64_t *set;
    double *best; /* the least that the cards of columns [0, i) differ, and where the */
    int *from;    /* last of them begins */
    /* The same for bands over the rows. */
    double *total;
    int *low;
} Cutting;

static void cutting_clear(Cutting *c)
{
    void *const block[] = {c->share, c->colour, c->bricks, c->units, c->set,
                           c->best,  c->from,   c->total,  c->low};
    for (size_t i = 0; i < sizeof block / sizeof *block; i++) memory_free(block[i]);
}

static Status cutting_init(Cutting *c, const Solid *solid, const CardLimits *limits, Fault *fault)
{
    const size_t columns = (size_t)solid->grid->columns, rows = (size_t)solid->grid->rows;
    *c = (Cutting){.solid = solid,
                   .limits = *limits,
                   .columns = (int)columns,
                   .rows = (int)rows,
                   .words = (PALETTE_MOST + SET_BITS - 1) / SET_BITS};
    if (c->limits.least_columns > c->columns) c->limits.least_columns = c->columns;
    if (c->limits.least_rows > c->rows) c->limits.least_rows = c->rows;
    c->share = memory_create(columns * rows, sizeof *c->share);
    if (c->share) c->colour = memory_create(columns * rows * c->words, sizeof *c->colour);
    if (c->colour) c->bricks = memory_create(columns, sizeof *c->bricks);
    if (c->bricks) c->units = memory_create(columns, sizeof *c->units);
    if (c->units) c->set = memory_create(columns * c->words, sizeof *c->set);
    if (c->set) c->best = memory_create(columns + 1, sizeof *c->best);
    if (c->best) c->from = memory_create(columns + 1, sizeof *c->from);
    if (c->from) c->total = memory_create(rows + 1, sizeof *c->total);
    if (c->total) c->low = memory_create(rows + 1, sizeof *c->low);
    return c->low ? STATUS_OK : memory_fault(fault, columns * rows * c->words, sizeof *c->colour);
}

static void share_out_bricks(Cutting *c, const Laid *laid)
{
    for (size_t i = 0; i < laid->count; i++) {
        const Brick *b = &laid->brick[i];
        const double share = 1.0 / (b->columns * b->rows);
        for (int row = b->row; row < b->row + b->rows; row++)
            for (int column = b->column; column < b->column + b->columns; column++) {
                const size_t cell = (size_t)row * (size_t)c->columns + (size_t)column;
                c->share[cell] += share;
                c->colour[cell * c->words + b->colour / SET_BITS] |= (uint64_t)1
                                                                     << b->colour % SET_BITS;
            }
    }
}

static void begin_band(Cutting *c)
{
    const size_t columns = (size_t)c->columns;
    memset(c->bricks, 0, columns * sizeof *c->bricks);
    memset(c->units, 0, columns * sizeof *c->units);
    memset(c->set, 0, columns * c->words * sizeof *c->set);
}

static void add_band_row(Cutting *c, int row)
{
    const size_t first = (size_t)row * (size_t)c->columns;
    for (size_t x = 0; x < (size_t)c->columns; x++) {
        c->bricks[x] += c->share[first + x];
        c->units[x] += solid_top(c->solid, (int)x, row);
    }
    for (size_t i = 0; i < (size_t)c->columns * c->words; i++)
        c->set[i] |= c->colour[first * c->words + i];
}

static int size_of_set(const uint64_t *set, size_t words)
{
    int count = 0;
    for (size_t i = 0; i < words; i++) count += __builtin_popcountll(set[i]);
    return count;
}

/* The best card that ends before column `to`, after what is best to its left. */
static void end_card(Cutting *c, int to)
{
    uint64_t set[(PALETTE_MOST + SET_BITS - 1) / SET_BITS] = {0};
    double bricks = 0.0, units = 0.0;
    const int last = to > c->limits.most_columns ? to - c->limits.most_columns : 0;
    for (int x = to - 1; x >= last; x--) {
        bricks += c->bricks[x];
        units += c->units[x];
        for (size_t i = 0; i < c->words; i++) set[i] |= c->set[(size_t)x * c->words + i];
        if (units > c->limits.units) return;
        if (to - x < c->limits.least_columns || !(c->best[x] < INFINITY)) continue;
        const double asks = bricks + CARD_COLOUR * size_of_set(set, c->words);
        const double off = asks / c->limits.target - 1.0;
        if (!(c->best[x] + off * off < c->best[to])) continue;
        c->best[to] = c->best[x] + off * off;
        c->from[to] = x;
    }
}

/* Cuts the band in hand; INFINITY where that cannot be. */
static double cut_band(Cutting *c)
{
    c->best[0] = 0.0;
    for (int to = 1; to <= c->columns; to++) {
        c->best[to] = INFINITY;
        end_card(c, to);
    }
    return c->best[c->columns];
}

static void choose_bands(Cutting *c)
{
    for (int row = 1; row <= c->rows; row++) c->total[row] = INFINITY;
    for (int low = 0; low < c->rows; low++) {
        if (!(c->total[low] < INFINITY)) continue;
        begin_band(c);
        for (int high = low + 1; high <= c->rows && high <= low + c->limits.most_rows; high++) {
            add_band_row(c, high - 1);
            if (high - low < c->limits.least_rows) continue;
            const double total = c->total[low] + cut_band(c);
            if (!(total < c->total[high])) continue;
            c->total[high] = total;
            c->low[high] = low;
        }
    }
}

/* ---- the panels of the cut ---- */

static void cut_again(Cutting *c, int low, int high)
{
    begin_band(c);
    for (int row = low; row < high; row++) add_band_row(c, row);
    cut_band(c);
}

static int cards_in_band(const Cutting *c)
{
    int cards = 0;
    for (int to = c->columns; to > 0; to = c->from[to]) cards++;
    return cards;
}

/* Bands come from the top, their cards from the right: the arrays are filled from their ends. */
static void fill_panels(Cutting *c, Panels *panels)
{
    int next = panels->count, band = panels->up;
    panels->band[band] = next;
    for (int high = c->rows; high > 0; high = c->low[high]) {
        cut_again(c, c->low[high], high);
        const int cards = cards_in_band(c);
        if (cards > panels->across) panels->across = cards;
        band--;
        int number = cards;
        for (int to = c->columns; to > 0; to = c->from[to]) {
            Panel *p = &panels->panel[--next];
            p->column = c->from[to];
            p->row = c->low[high];
            p->columns = to - p->column;
            p->rows = high - p->row;
            snprintf(p->name, sizeof p->name, "r%uc%u", (unsigned)band + 1, (unsigned)number--);
        }
        panels->band[band] = next;
    }
}

static Status make_panels(Cutting *c, Panels *panels, Fault *fault)
{
    for (int high = c->rows; high > 0; high = c->low[high]) {
        cut_again(c, c->low[high], high);
        panels->count += cards_in_band(c);
        panels->up++;
    }
    panels->panel = memory_create((size_t)panels->count, sizeof *panels->panel);
    if (panels->panel) panels->band = memory_create((size_t)panels->up + 1, sizeof *panels->band);
    if (!panels->band) return memory_fault(fault, (size_t)panels->count, sizeof *panels->panel);
    fill_panels(c, panels);
    return STATUS_OK;
}

Status cards_cut(Panels *panels_out, const Solid *solid, const Laid *laid, const CardLimits *limits,
                 Fault *fault)
{
    Cutting c;
    *panels_out = (Panels){0};
    Status status = cutting_init(&c, solid, limits, fault);
    if (!status) {
        share_out_bricks(&c, laid);
        choose_bands(&c);
        if (c.total[c.rows] < INFINITY) status = make_panels(&c, panels_out, fault);
    }
    cutting_clear(&c);
    if (status) panels_clear(panels_out);
    return status;
}
