/* One table, colour by size, says how many bricks are still on the shelf once the laying
 * took its own; below 0 they lack. Every change keeps it true. */
#include "shelf.h"

#include "delta_e.h"
#include "memory.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { TRIES = 4000 }; /* cuts that are tried to break up one brick */

typedef struct Shelf {
    const Solid *solid;
    Grid *grid;
    const Image *target;
    const Palette *palette;
    const Sizes *sizes;
    Laid *laid;
    long *rest;               /* colours x sizes: in stock less in the laying */
    long units[PALETTE_MOST]; /* the same in units, all sizes of a colour together */
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

/* True if one more brick is there, and units for it: a colour whose small sizes lack
 * already has its units spoken for. */
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

/* Pieces of a brick, as boxes within it. */
typedef struct Piece {
    int column, row, columns, rows, size;
} Piece;

typedef struct Breaking {
    Shelf *shelf;
    int colour, tries;
    Piece piece[SIZE_LONGEST * SIZE_LONGEST];
    int pieces;
} Breaking;

static void undo_to(Breaking *k, int pieces)
{
    while (k->pieces > pieces) put_back(k->shelf, k->colour, k->piece[--k->pieces].size, 1);
}

/* Covers the box with bricks from the shelf, by cuts from side to side, large pieces
 * first; false, and nothing taken, where that fails. */
static bool cover(Breaking *k, int column, int row, int columns, int rows)
{
    if (--k->tries < 0) return false;
    const int size = sizes_find(k->shelf->sizes, columns, rows), before = k->pieces;
    if (size >= 0 && *rest_of(k->shelf, k->colour, size) > 0) {
        put_back(k->shelf, k->colour, size, -1);
        k->piece[k->pieces++] = (Piece){column, row, columns, rows, size};
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
        b.shown = 0;
        for (int r = b.row; r < b.row + b.rows; r++)
            for (int c = b.column; c < b.column + b.columns; c++)
                b.shown |= solid_shown(s->solid, c, r, b.tier);
        if (i == 0) {
            s->laid->brick[brick] = b;
            continue;
        }
        const Status status = laid_add(s->laid, &b, fault);
        if (status) return status;
    }
    return STATUS_OK;
}

/* Whether something is left out below the brick: its parts might then rest on nothing. */
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

/* ---- another colour ---- */

/* A brick that lacks, and what its best other colour loses. */
typedef struct Change {
    size_t brick;
    double loss;
    int colour; /* -1: none has the size */
} Change;

static double difference(const Shelf *s, const Brick *b, int colour)
{
    double sum = 0;
    for (int r = b->row; r < b->row + b->rows; r++)
        for (int c = b->column; c < b->column + b->columns; c++)
            sum += delta_e_2000(lab_from_xyz(image_at(s->target, c, r)),
                                s->palette->colour[colour].lab);
    return sum;
}

static void find_change(const Shelf *s, Change *change)
{
    const Brick *b = &s->laid->brick[change->brick];
    double least = INFINITY;
    change->colour = -1;
    for (int c = 0; c < s->palette->count; c++) {
        if (!is_there(s, c, b->size)) continue;
        const double d = difference(s, b, c);
        if (d >= least) continue;
        least = d;
        change->colour = c;
    }
    change->loss = least - difference(s, b, b->colour);
}

static int by_loss(const void *left, const void *right)
{
    const Change *a = left, *b = right;
    if (a->loss != b->loss) return a->loss < b->loss ? -1 : 1;
    return a->brick < b->brick ? -1 : a->brick > b->brick;
}

static void recolour(Shelf *s, Change *change)
{
    Brick *b = &s->laid->brick[change->brick];
    if (!lacks(s, b)) return;
    if (change->colour >= 0 && !is_there(s, change->colour, b->size)) find_change(s, change);
    if (change->colour < 0) return;
    put_back(s, b->colour, b->size, 1);
    put_back(s, change->colour, b->size, -1);
    b->colour = (uint8_t)change->colour;
    for (int r = b->row; r < b->row + b->rows; r++)
        for (int c = b->column; c < b->column + b->columns; c++) {
            s->grid->colour[(size_t)r * (size_t)s->grid->columns + (size_t)c] = b->colour;
            s->report.recoloured++;
        }
}

static Status change_colours(Shelf *s, Fault *fault)
{
    size_t lacking = 0, n = 0;
    for (size_t i = 0; i < s->laid->count; i++) lacking += lacks(s, &s->laid->brick[i]);
    Change *change = memory_create(lacking, sizeof *change);
    if (!change) return memory_fault(fault, lacking, sizeof *change);
    for (size_t i = 0; i < s->laid->count; i++) {
        if (!lacks(s, &s->laid->brick[i])) continue;
        change[n].brick = i;
        find_change(s, &change[n++]);
    }
    if (n) qsort(change, n, sizeof *change, by_loss);
    for (size_t i = 0; i < n; i++) recolour(s, &change[i]);
    memory_free(change);
    return STATUS_OK;
}

/* Bricks of a plaque that still lack are parted into units, as far as any colour has some:
 * each unit may then find a colour of its own. */
static Status part_into_units(Shelf *s, Fault *fault)
{
    const int unit = sizes_find(s->sizes, 1, 1);
    long units = 0;
    for (int c = 0; unit >= 0 && c < s->palette->count; c++)
        if (*rest_of(s, c, unit) > 0) units += *rest_of(s, c, unit);
    Breaking *k = memory_create(1, sizeof *k);
    if (!k) return memory_fault(fault, 1, sizeof *k);
    Status status = STATUS_OK;
    const size_t count = s->laid->count;
    for (size_t i = 0; !status && i < count; i++) {
        const Brick b = s->laid->brick[i];
        if (b.size == unit || volume(&b) > units || !lacks(s, &b)) continue;
        k->pieces = 0;
        for (int r = 0; r < b.rows; r++)
            for (int c = 0; c < b.columns; c++) k->piece[k->pieces++] = (Piece){c, r, 1, 1, unit};
        put_back(s, b.colour, b.size, 1);
        put_back(s, b.colour, unit, -k->pieces);
        units -= k->pieces;
        s->report.broken++;
        status = put_pieces(s, k, i, fault);
    }
    memory_free(k);
    return status;
}

/* True if every brick is as deep as the solid, so that its cells are its own. */
static bool is_one_deep(const Solid *solid) { return solid->base == 1 && !solid->grid->steps; }

Status shelf_fit(const Solid *solid, Grid *grid, const Image *target, const Palette *palette,
                 const Sizes *sizes, const Stock *stock, Laid *laid, ShelfReport *report_out,
                 Fault *fault)
{
    Shelf s = {.solid = solid,
               .grid = grid,
               .target = target,
               .palette = palette,
               .sizes = sizes,
               .laid = laid};
    Status status = shelf_init(&s, stock, fault);
    if (!status) colour_backing(&s);
    if (!status && solid->build == BUILD_PLAQUE) status = break_up(&s, fault);
    if (!status && is_one_deep(solid)) status = change_colours(&s, fault);
    if (!status && is_one_deep(solid) && solid->build == BUILD_PLAQUE) {
        status = part_into_units(&s, fault);
        if (!status) status = change_colours(&s, fault);
    }
    for (int i = 0; !status && i < palette->count * sizes->count; i++)
        if (s.rest[i] < 0) s.report.lacking -= s.rest[i];
    memory_free(s.rest);
    if (s.report.broken) laid_sort(laid, solid->build == BUILD_WALL);
    *report_out = s.report;
    return status;
}

/* ---- laying anew ---- */

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
        /* In eighths: the rounder the costs, the sooner a laying is known to be the best. */
        const double share = count[i] ? (double)lacking[i] / (double)count[i] : 0;
        cost_out[i] = 1 + round(24 * share) / 8;
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
