/* The columns of the set partitioning program: every place of every shape in one region.
 *
 * Idea. A place is told by its first cell and its shape. Places are listed by first cell, so that
 * a search that fills cells in order finds those that begin at a cell together. A region that is
 * wider than high is turned over its diagonal, since a search that goes row by row has the less to
 * remember the narrower the rows are.
 *
 * Invariants. Places fit: within the region, over cells of one colour and free ones. Those of a
 * cell are in the order of the shapes, largest first. */
#include "bricks/tiling/region.h"

#include "base/memory.h"

#include <stdlib.h>

/* What finding the places needs beside the region itself. */
typedef struct Fitting {
    const Region *region;
    const uint8_t *label; /* of the layer */
    bool mixed;           /* cells of several labels */
    int32_t *run;         /* cells in a row from this one on */
} Fitting;

static bool one_colour(const Fitting *f, int32_t cell, int wide, int high)
{
    const Region *r = f->region;
    uint8_t colour = TILE_FREE;
    for (int k = 0; k < high; k++, cell = r->above[cell])
        for (int i = 0; i < wide; i++) {
            const uint8_t label = f->label[r->cell[cell + i]];
            if (label == TILE_FREE || label == colour) continue;
            if (colour != TILE_FREE) return false;
            colour = label;
        }
    return true;
}

static bool place_fits(const Fitting *f, int32_t cell, int wide, int high)
{
    int32_t at = cell;
    for (int k = 0; k < high; k++, at = f->region->above[at])
        if (at < 0 || f->run[at] < wide) return false;
    return !f->mixed || one_colour(f, cell, wide, high);
}

/* Turns the frame over the diagonal: cells by column, then row. `column` and `row`
 * change places; one counting sort keeps the rows in order. */
static Status turn_frame(Region *r, Fault *fault)
{
    int32_t *start = memory_create((size_t)r->columns + 1, sizeof *start);
    int32_t *cell = memory_create((size_t)r->cells, sizeof *cell);
    int32_t *column = memory_create((size_t)r->cells, sizeof *column);
    int32_t *row = memory_create((size_t)r->cells, sizeof *row);
    if (start && cell && column && row) {
        for (int32_t i = 0; i < r->cells; i++) start[r->column[i] + 1]++;
        for (int32_t i = 0; i < r->columns; i++) start[i + 1] += start[i];
        for (int32_t i = 0; i < r->cells; i++) {
            const int32_t to = start[r->column[i]]++;
            cell[to] = r->cell[i];
            column[to] = r->row[i];
            row[to] = r->column[i];
        }
    }
    const bool done = start && cell && column && row;
    memory_free(start);
    memory_free(done ? r->cell : cell);
    memory_free(done ? r->column : column);
    memory_free(done ? r->row : row);
    if (!done) return memory_fault(fault, (size_t)r->cells, sizeof *cell);
    r->cell = cell;
    r->column = column;
    r->row = row;
    const int32_t columns = r->columns;
    r->columns = r->rows;
    r->rows = columns;
    r->turned = true;
    return STATUS_OK;
}

static void place_in_frame(Region *r, const int32_t *cell, int32_t layer_columns)
{
    int32_t least = INT32_MAX, most = 0;
    const int32_t lowest = cell[0] / layer_columns;
    for (int32_t i = 0; i < r->cells; i++) {
        r->cell[i] = cell[i];
        r->row[i] = cell[i] / layer_columns - lowest;
        r->column[i] = cell[i] % layer_columns;
        if (r->column[i] < least) least = r->column[i];
        if (r->column[i] > most) most = r->column[i];
    }
    for (int32_t i = 0; i < r->cells; i++) r->column[i] -= least;
    r->columns = most - least + 1;
    r->rows = r->row[r->cells - 1] + 1;
}

/* Finds the cell above each, with one index in each of two neighbouring rows. */
static void link_cells_above(Region *r)
{
    int32_t up = 0;
    for (int32_t i = 0; i < r->cells; i++) r->below[i] = -1;
    for (int32_t i = 0; i < r->cells; i++) {
        while (up < r->cells && (r->row[up] < r->row[i] + 1 ||
                                 (r->row[up] == r->row[i] + 1 && r->column[up] < r->column[i])))
            up++;
        const bool meets =
            up < r->cells && r->row[up] == r->row[i] + 1 && r->column[up] == r->column[i];
        r->above[i] = meets ? up : -1;
        if (meets) r->below[up] = i;
    }
}

static Status list_places(Region *r, const uint8_t *label, Fault *fault)
{
    Fitting f = {.region = r, .label = label};
    f.run = memory_create((size_t)r->cells, sizeof *f.run);
    if (!f.run) return memory_fault(fault, (size_t)r->cells, sizeof *f.run);
    for (int32_t i = r->cells - 1, run = 0; i >= 0; i--) {
        const bool next =
            i + 1 < r->cells && r->row[i + 1] == r->row[i] && r->column[i + 1] == r->column[i] + 1;
        run = next ? run + 1 : 1;
        f.run[i] = run;
        if (label[r->cell[i]] != label[r->cell[0]]) f.mixed = true;
    }
    size_t capacity = 0;
    int32_t count = 0;
    Status status = STATUS_OK;
    for (int32_t i = 0; i < r->cells && !status; i++) {
        r->first[i] = count;
        status =
            memory_grow(&r->shape, &capacity, (size_t)count + (size_t)r->shapes->count, 1, fault);
        for (int s = 0; s < r->shapes->count && !status; s++)
            if (place_fits(&f, i, r->wide[s], r->high[s])) r->shape[count++] = (uint8_t)s;
    }
    r->first[r->cells] = count;
    memory_free(f.run);
    return status;
}

/* What each place costs with what the field adds to its shape. */
static Status price_places(Region *r, const TileField *field, Fault *fault)
{
    const size_t places = (size_t)region_places(r);
    r->cost = memory_create(places, sizeof *r->cost);
    if (!r->cost) return memory_fault(fault, places, sizeof *r->cost);
    r->step = shapes_common_divisor(r->step, field->prices->step);
    for (int32_t i = 0; i < r->cells; i++)
        for (int32_t p = r->first[i]; p < r->first[i + 1]; p++) {
            const Shape *s = &r->shapes->shape[r->shape[p]];
            const Tile tile = {.column = r->cell[i] % field->columns,
                               .row = r->cell[i] / field->columns,
                               .columns = s->columns,
                               .rows = s->rows};
            r->cost[p] = s->cost + field->prices->of(field->prices->context, &tile);
        }
    return STATUS_OK;
}

/* What each row of the frame, a column of the field, has for a line. */
static Status price_lines(Region *r, const TileField *field, Fault *fault)
{
    r->line = memory_create((size_t)r->rows, sizeof *r->line);
    if (!r->line) return memory_fault(fault, (size_t)r->rows, sizeof *r->line);
    for (int32_t i = 0; i < r->cells; i++)
        if (r->row[i] > 0) r->line[r->row[i]] = field->line[r->cell[i] % field->columns];
    return STATUS_OK;
}

static Status region_make(Region *r, const TileField *field, const int32_t *cell, Fault *fault)
{
    const size_t cells = (size_t)r->cells;
    r->cell = memory_create(cells, sizeof *r->cell);
    r->column = memory_create(cells, sizeof *r->column);
    r->row = memory_create(cells, sizeof *r->row);
    r->above = memory_create(cells, sizeof *r->above);
    r->below = memory_create(cells, sizeof *r->below);
    r->first = memory_create(cells + 1, sizeof *r->first);
    if (!r->cell || !r->column || !r->row || !r->above || !r->below || !r->first)
        return memory_fault(fault, cells, sizeof *r->cell);
    place_in_frame(r, cell, field->columns);
    Status status = r->columns > r->rows || field->line ? turn_frame(r, fault) : STATUS_OK;
    if (status) return status;
    for (int s = 0; s < r->shapes->count; s++) {
        const Shape *shape = &r->shapes->shape[s];
        r->wide[s] = r->turned ? shape->rows : shape->columns;
        r->high[s] = r->turned ? shape->columns : shape->rows;
    }
    link_cells_above(r);
    status = list_places(r, field->label, fault);
    if (!status && field->prices) status = price_places(r, field, fault);
    return !status && field->line ? price_lines(r, field, fault) : status;
}

Status region_init(Region *region_out, const TileField *field, const int32_t *cell, int32_t cells,
                   const Shapes *shapes, Fault *fault)
{
    *region_out = (Region){.shapes = shapes, .cells = cells, .step = shapes->step};
    const Status status = region_make(region_out, field, cell, fault);
    if (status) region_clear(region_out);
    return status;
}

void region_clear(Region *r)
{
    memory_free(r->cell);
    memory_free(r->column);
    memory_free(r->row);
    memory_free(r->above);
    memory_free(r->below);
    memory_free(r->first);
    memory_free(r->shape);
    memory_free(r->cost);
    memory_free(r->line);
    *r = (Region){0};
}

void region_sums(const Region *r, const int32_t *number, int64_t *sums_out)
{
    sums_out[0] = 0;
    for (int32_t i = 0; i < r->cells; i++) sums_out[i + 1] = sums_out[i] + number[i];
}

static int ascending(const void *left, const void *right)
{
    const int32_t a = *(const int32_t *)left, b = *(const int32_t *)right;
    return (a > b) - (a < b);
}

void cells_sort(int32_t *cell, int32_t cells)
{
    qsort(cell, (size_t)cells, sizeof *cell, ascending);
}
