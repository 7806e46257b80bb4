/* One table, colour by size, says how many bricks are still on the shelf once the laying
 * took its own; below 0 they lack. Every change of the laying is entered there, also one that
 * is only tried: it is taken back in the same way. The bricks that lack are changed in the
 * order of what that costs the look; own work, with no source. */
#include "plan/shelf.h"

#include "base/memory.h"
#include "cells/transport.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Cuts that are tried to break up one brick: a bound on the search of cover. Ours; no bench
 * set it. */
enum { TRIES = 4000 };

typedef struct Shelf {
    const Solid *solid;
    Grid *grid;
    const Palette *palette;
    const Sizes *sizes;
    Laid *laid;
    const CellRules *rules;
    const uint16_t *cost;     /* difference of each cell to each colour, see transport_costs */
    long *rest;               /* colours x sizes: in stock less in the laying */
    long units[PALETTE_MOST]; /* the same in units, all sizes of a colour together */
    double budget;            /* difference that changes of colour may still add */
    ShelfReport report;
} Shelf;

void shelf_units(const Stock *stock, const Sizes *sizes, long *units_out)
{
    memset(units_out, 0, PALETTE_MOST * sizeof *units_out);
    for (size_t i = 0; i < stock->count; i++) {
        const StockLine *line = &stock->line[i];
        const Size *s = &sizes->size[line->size];
        units_out[line->colour] += line->quantity * s->width * s->length;
    }
}

static long volume(const Brick *b) { return (long)b->columns * b->rows * b->tiers; }

void shelf_units_taken(const Laid *laid, long *units_out)
{
    memset(units_out, 0, PALETTE_MOST * sizeof *units_out);
    for (size_t i = 0; i < laid->count; i++)
        units_out[laid->brick[i].colour] += volume(&laid->brick[i]);
}

static long *rest_of(const Shelf *s, int colour, int size)
{
    return &s->rest[(size_t)colour * (size_t)s->sizes->count + (size_t)size];
}

/* A brick of this size leaves the laying (1) or joins it (-1). */
static void put_back(Shelf *s, int colour, int size, int bricks)
{
    const Size *of = &s->sizes->size[size];
    *rest_of(s, colour, size) += bricks;
    s->units[colour] += (long)bricks * of->width * of->length;
}

/* True if the shelf has one more brick of this size and colour. It must have units of the colour
 * to spare, too: where small sizes of it lack, larger bricks are already meant to stand in. */
static bool is_there(const Shelf *s, int colour, int size)
{
    const Size *of = &s->sizes->size[size];
    return *rest_of(s, colour, size) > 0 && s->units[colour] >= (long)of->width * of->length;
}

static bool lacks(const Shelf *s, const Brick *b) { return *rest_of(s, b->colour, b->size) < 0; }

static Status shelf_init(Shelf *s, const Stock *stock, Fault *fault)
{
    const size_t entries = (size_t)s->palette->count * (size_t)s->sizes->count;
    s->rest = memory_create(entries, sizeof *s->rest);
    if (!s->rest) return memory_fault(fault, entries, sizeof *s->rest);
    for (size_t i = 0; i < stock->count; i++) {
        const StockLine *line = &stock->line[i];
        if (line->colour < s->palette->count)
            *rest_of(s, line->colour, line->size) += line->quantity;
    }
    shelf_units(stock, s->sizes, s->units);
    for (size_t i = 0; i < s->laid->count; i++)
        put_back(s, s->laid->brick[i].colour, s->laid->brick[i].size, -1);
    return STATUS_OK;
}

/* ---- backing ---- */

static void colour_backing(Shelf *s)
{
    for (size_t i = 0; i < s->laid->count; i++) {
        Brick *b = &s->laid->brick[i];
        if (b->shown || !lacks(s, b)) continue;
        int most = -1;
        for (int c = 0; c < s->palette->count; c++)
            if (is_there(s, c, b->size) &&
                (most < 0 || *rest_of(s, c, b->size) > *rest_of(s, most, b->size)))
                most = c;
        if (most < 0) continue;
        put_back(s, b->colour, b->size, 1);
        put_back(s, most, b->size, -1);
        b->colour = (uint8_t)most;
    }
}

Status shelf_colour_backing(Laid *laid, const Palette *palette, const Sizes *sizes,
                            const Stock *stock, Fault *fault)
{
    Shelf s = {.palette = palette, .sizes = sizes, .laid = laid};
    const Status status = shelf_init(&s, stock, fault);
    if (!status) colour_backing(&s);
    memory_free(s.rest);
    return status;
}

/* ---- breaking up ---- */

/* A part of a brick that becomes a brick of its own: a box within the brick. */
typedef struct Piece {
    int column, row, columns, rows, size, colour;
} Piece;

typedef struct Breaking {
    Shelf *shelf;
    int colour, tries;
    Piece piece[SIZE_LONGEST * SIZE_LONGEST];
    int pieces;
} Breaking;

static void undo_to(Breaking *k, int pieces)
{
    while (k->pieces > pieces) {
        const Piece *last = &k->piece[--k->pieces];
        put_back(k->shelf, last->colour, last->size, 1);
    }
}

static void take_piece(Breaking *k, Piece piece)
{
    put_back(k->shelf, piece.colour, piece.size, -1);
    k->piece[k->pieces++] = piece;
}

/* Covers the box with bricks from the shelf, by cuts from side to side, large pieces
 * first; false, and nothing taken, where that fails. */
static bool cover(Breaking *k, int column, int row, int columns, int rows)
{
    if (--k->tries < 0) return false;
    const int size = sizes_find(k->shelf->sizes, columns, rows), before = k->pieces;
    if (size >= 0 && *rest_of(k->shelf, k->colour, size) > 0) {
        take_piece(k, (Piece){column, row, columns, rows, size, k->colour});
        return true;
    }
    const int longer = columns > rows ? columns : rows;
    for (int cut = longer - 1; cut > 0; cut--) {
        if (cut < columns && cover(k, column, row, cut, rows) &&
            cover(k, column + cut, row, columns - cut, rows))
            return true;
        undo_to(k, before);
        if (cut < rows && cover(k, column, row, columns, cut) &&
            cover(k, column, row + cut, columns, rows - cut))
            return true;
        undo_to(k, before);
    }
    return false;
}

/* The brick's place is taken by its first piece; the others are added at the end. */
static Status put_pieces(Shelf *s, const Breaking *k, size_t brick, Fault *fault)
{
    const Brick whole = s->laid->brick[brick];
    for (int i = 0; i < k->pieces; i++) {
        const Piece *p = &k->piece[i];
        Brick b = whole;
        b.column = whole.column + p->column;
        b.row = whole.row + p->row;
        b.columns = (uint8_t)p->columns;
        b.rows = (uint8_t)p->rows;
        b.size = (uint8_t)p->size;
        b.colour = (uint8_t)p->colour;
        b.shown = 0;
        for (int r = b.row; r < b.row + b.rows; r++)
            for (int c = b.column; c < b.column + b.columns; c++)
                if (solid_shown(s->solid, c, r, b.tier)) b.shown = 1;
        if (i == 0) {
            s->laid->brick[brick] = b;
            continue;
        }
        const Status status = laid_add(s->laid, &b, fault);
        if (status) return status;
    }
    return STATUS_OK;
}

/* Whether the core leaves out a unit below the brick. Were it broken up, a part of it could rest
 * on nothing. */
static bool bridges(const Solid *solid, const Brick *b)
{
    for (int r = b->row; r < b->row + b->rows && solid->left_out && b->tier > 0; r++)
        for (int c = b->column; c < b->column + b->columns; c++)
            if (!solid_fills(solid, c, r, b->tier - 1)) return true;
    return false;
}

static Status break_up(Shelf *s, Fault *fault)
{
    Breaking *k = memory_create(1, sizeof *k);
    if (!k) return memory_fault(fault, 1, sizeof *k);
    Status status = STATUS_OK;
    const size_t count = s->laid->count;
    for (size_t i = 0; !status && i < count; i++) {
        const Brick b = s->laid->brick[i];
        if (!lacks(s, &b) || bridges(s->solid, &b)) continue;
        k->shelf = s;
        k->colour = b.colour;
        k->tries = TRIES;
        k->pieces = 0;
        if (!cover(k, 0, 0, b.columns, b.rows)) continue;
        put_back(s, b.colour, b.size, 1);
        s->report.broken++;
        status = put_pieces(s, k, i, fault);
    }
    memory_free(k);
    return status;
}

/* ---- other colours ---- */

/* A brick that lacks, and what it adds to the difference if bricks of other colours take its
 * place. */
typedef struct Change {
    size_t brick;
    double loss; /* INFINITY: the shelf has none that could */
} Change;

/* The difference between a piece of the brick, in some colour, and the target; INFINITY where one
 * of its cells may not take it. */
static double difference(const Shelf *s, const Brick *b, const Piece *p, int colour)
{
    const size_t columns = (size_t)s->grid->columns, colours = (size_t)s->palette->count;
    long sum = 0;
    for (int r = b->row + p->row; r < b->row + p->row + p->rows; r++)
        for (int c = b->column + p->column; c < b->column + p->column + p->columns; c++) {
            const uint16_t cost =
                s->cost[((size_t)r * columns + (size_t)c) * colours + (size_t)colour];
            if (cost == TRANSPORT_NEVER) return INFINITY;
            sum += cost;
        }
    return (double)sum / TRANSPORT_UNIT;
}

/* Takes the piece in the colour that differs least of those that are there; INFINITY if none
 * is. */
static double take_best(Breaking *k, const Brick *b, Piece piece)
{
    double least = INFINITY;
    for (int c = 0; c < k->shelf->palette->count; c++) {
        if (!is_there(k->shelf, c, piece.size)) continue;
        const double d = difference(k->shelf, b, &piece, c);
        if (d < least) least = d, piece.colour = c;
    }
    if (least < INFINITY) take_piece(k, piece);
    return least;
}

/* Puts a brick back and takes others for it: one of its size or, parted, units; what that adds
 * to the difference. */
static double exchange(Breaking *k, const Brick *b, bool parted)
{
    const int columns = parted ? 1 : b->columns, rows = parted ? 1 : b->rows;
    const int size = sizes_find(k->shelf->sizes, columns, rows);
    const Piece whole = {0, 0, b->columns, b->rows, b->size, b->colour};
    double loss = -difference(k->shelf, b, &whole, b->colour);
    k->pieces = 0;
    put_back(k->shelf, b->colour, b->size, 1);
    for (int r = 0; r < b->rows && loss < INFINITY; r += rows)
        for (int c = 0; c < b->columns && loss < INFINITY; c += columns)
            loss += take_best(k, b, (Piece){c, r, columns, rows, size, 0});
    return loss;
}

static void exchange_back(Breaking *k, const Brick *b)
{
    undo_to(k, 0);
    put_back(k->shelf, b->colour, b->size, -1);
}

static void colour_cells(Shelf *s, const Brick *b, const Piece *p)
{
    for (int r = b->row + p->row; r < b->row + p->row + p->rows; r++)
        for (int c = b->column + p->column; c < b->column + p->column + p->columns; c++) {
            uint8_t *cell = &s->grid->colour[(size_t)r * (size_t)s->grid->columns + (size_t)c];
            s->report.recoloured += *cell != p->colour;
            *cell = (uint8_t)p->colour;
        }
}

/* Exchanges a brick if it still lacks and the budget allows what that adds to the difference. */
static Status change_brick(Breaking *k, size_t brick, bool parted, Fault *fault)
{
    Shelf *s = k->shelf;
    const Brick b = s->laid->brick[brick];
    if (!lacks(s, &b)) return STATUS_OK;
    const double loss = exchange(k, &b, parted);
    if (loss > s->budget || loss == INFINITY) {
        exchange_back(k, &b);
        return STATUS_OK;
    }
    s->budget -= fmax(loss, 0);
    s->report.broken += parted;
    for (int i = 0; i < k->pieces; i++) colour_cells(s, &b, &k->piece[i]);
    return put_pieces(s, k, brick, fault);
}

static int by_loss(const void *left, const void *right)
{
    const Change *a = left, *b = right;
    if (a->loss != b->loss) return a->loss < b->loss ? -1 : 1;
    return a->brick < b->brick ? -1 : a->brick > b->brick;
}

/* The bricks that lack are exchanged, those first that lose least. */
static Status change_bricks(Shelf *s, bool parted, Fault *fault)
{
    const int unit = sizes_find(s->sizes, 1, 1);
    size_t lacking = 0, n = 0;
    for (size_t i = 0; i < s->laid->count; i++) lacking += lacks(s, &s->laid->brick[i]);
    if (!lacking || (parted && unit < 0)) return STATUS_OK;
    Change *change = memory_create(lacking, sizeof *change);
    Breaking *k = memory_create(1, sizeof *k);
    Status status = change && k ? STATUS_OK : memory_fault(fault, lacking, sizeof *change);
    for (size_t i = 0; !status && i < s->laid->count; i++) {
        const Brick *b = &s->laid->brick[i];
        if (!lacks(s, b) || (parted && b->size == unit)) continue;
        k->shelf = s;
        change[n++] = (Change){i, exchange(k, b, parted)};
        exchange_back(k, b);
    }
    if (n) qsort(change, n, sizeof *change, by_loss);
    for (size_t i = 0; !status && i < n; i++)
        status = change_brick(k, change[i].brick, parted, fault);
    memory_free(k);
    memory_free(change);
    return status;
}

/* True if every brick is as deep as the solid, so that its cells are its own. */
static bool is_one_deep(const Solid *solid) { return solid->base == 1 && !solid->grid->steps; }

static long lacking(const Shelf *s)
{
    long sum = 0;
    for (int i = 0; i < s->palette->count * s->sizes->count; i++)
        if (s->rest[i] < 0) sum -= s->rest[i];
    return sum;
}

/* The difference between the whole face and the target. */
static double face_difference(const Shelf *s)
{
    double sum = 0;
    for (size_t i = 0; i < s->laid->count; i++) {
        const Brick *b = &s->laid->brick[i];
        sum += difference(s, b, &(Piece){.columns = b->columns, .rows = b->rows}, b->colour);
    }
    return sum;
}

static Status fit_colours(Shelf *s, const Image *target, const ShelfOptions *options, Fault *fault)
{
    uint16_t *cost;
    if (!lacking(s)) return STATUS_OK;
    Status status =
        transport_costs(target, s->palette, options->threads, options->voice, &cost, fault);
    if (status) return status;
    cell_rules_cost(s->rules, s->palette->count, cost);
    s->cost = cost;
    s->budget = options->recolour * face_difference(s);
    status = change_bricks(s, false, fault);
    if (!status && s->solid->build == BUILD_PLAQUE) status = change_bricks(s, true, fault);
    memory_free(cost);
    return status;
}

Status shelf_fit(const ShelfTask *task, const Image *target, const ShelfOptions *options,
                 ShelfReport *report_out, Fault *fault)
{
    const Solid *solid = task->solid;
    Shelf s = {.solid = solid,
               .grid = task->grid,
               .palette = task->palette,
               .sizes = task->sizes,
               .laid = task->laid,
               .rules = task->rules};
    Status status = shelf_init(&s, task->stock, fault);
    if (!status) colour_backing(&s);
    if (!status && solid->build == BUILD_PLAQUE) status = break_up(&s, fault);
    if (!status && is_one_deep(solid)) status = fit_colours(&s, target, options, fault);
    if (!status) s.report.lacking = lacking(&s);
    memory_free(s.rest);
    if (s.report.broken) laid_sort(task->laid, solid->build == BUILD_WALL);
    *report_out = s.report;
    return status;
}

/* ---- laying anew ---- */

/* A size of which all bricks lack costs this much more than 1. Ours; no bench set it. */
#define COST_LACKING 3.0

/* Costs are whole eighths: the rounder they are, the sooner a laying is known to be the best. */
#define COST_PARTS 8.0

bool shelf_costs(const Parts *parts, const Sizes *sizes, double *cost_out)
{
    long count[SIZES_MOST] = {0}, lacking[SIZES_MOST] = {0};
    bool any = false;
    for (int i = 0; i < parts->count; i++) {
        const Part *p = &parts->part[i];
        count[p->size] += p->count;
        if (p->count > p->in_stock) lacking[p->size] += p->count - p->in_stock;
    }
    for (int i = 0; i < sizes->count; i++) {
        const double share = count[i] ? (double)lacking[i] / (double)count[i] : 0;
        cost_out[i] = 1 + round(COST_LACKING * COST_PARTS * share) / COST_PARTS;
        any |= lacking[i] > 0;
    }
    return any;
}

long shelf_lacking(const Parts *parts)
{
    long sum = 0;
    for (int i = 0; i < parts->count; i++) {
        const Part *p = &parts->part[i];
        if (p->count > p->in_stock) sum += p->count - p->in_stock;
    }
    return sum;
}
