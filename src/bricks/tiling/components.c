/* The connected components of a field.
 *
 * Idea. Two cells side by side are joined if one brick could lie over both: within a panel, of
 * colours that one brick may have. What no brick can reach across need not be tiled together, so
 * the set partitioning program falls apart into one for each connected component, found by a
 * breadth first search. A component of too many cells is cut into blocks.
 *
 * Invariants. Every cell that is not empty is in just one component. The order, by size and then by
 * the first cell, is the same on every machine; it is the order of work.
 *
 * Source. Connected component labelling, common practice. */
#include "bricks/tiling/components.h"

#include "base/memory.h"
#include "bricks/tiling/region.h"

#include <stdlib.h>

enum {
    COMPONENT_MOST = 1 << 18, /* cells, for the memory of its duals, 16 bytes a cell and shape; a
 larger one is bounded by its area alone */
    BLOCK_SIDE = 256,         /* cells, of the blocks into which that is cut */
    PIECES_OFTEN = 1 << 16    /* cells between two questions whether to stop */
};

typedef enum CellState { CELL_NEW, CELL_DONE, CELL_OF_LARGE } CellState;

/* A search under way. */
typedef struct ComponentSearch {
    const TileField *field;
    Components *components;
    uint8_t *state; /* by cell: a CellState */
} ComponentSearch;

int32_t field_neighbour(const TileField *f, int32_t cell, FieldSide side)
{
    const int32_t column = cell % f->columns, row = cell / f->columns;
    int32_t next;
    if (side == SIDE_LEFT) {
        if (column == 0 || (f->edge_column && f->edge_column[column])) return -1;
        next = cell - 1;
    } else if (side == SIDE_RIGHT) {
        if (column + 1 == f->columns || (f->edge_column && f->edge_column[column + 1])) return -1;
        next = cell + 1;
    } else if (side == SIDE_BELOW) {
        if (row == 0 || (f->edge_row && f->edge_row[row])) return -1;
        next = cell - f->columns;
    } else {
        if (row + 1 == f->rows || (f->edge_row && f->edge_row[row + 1])) return -1;
        next = cell + f->columns;
    }
    return field_joins(f, (size_t)cell, (size_t)next) ? next : -1;
}

static bool same_block(const TileField *f, int32_t a, int32_t b)
{
    return a % f->columns / BLOCK_SIDE == b % f->columns / BLOCK_SIDE &&
           a / f->columns / BLOCK_SIDE == b / f->columns / BLOCK_SIDE;
}

/* Gathers the cells that are joined to a first one and in its state; they become done. Those of a
 * large component are gathered within a block. */
static void flood(const ComponentSearch *f, int32_t first, Component *c)
{
    int32_t *cell = f->components->cell + c->begin;
    const uint8_t from = f->state[first];
    cell[0] = first;
    c->cells = 1;
    f->state[first] = CELL_DONE;
    for (int32_t i = 0; i < c->cells; i++)
        for (int side = 0; side < FIELD_SIDES; side++) {
            const int32_t next = field_neighbour(f->field, cell[i], (FieldSide)side);
            if (next < 0 || f->state[next] != from) continue;
            if (from == CELL_OF_LARGE && !same_block(f->field, first, next)) continue;
            f->state[next] = CELL_DONE;
            cell[c->cells++] = next;
        }
}

/* The component of a cell, or a block's part of one that is too large. */
static void find_component(const ComponentSearch *f, int32_t first, Component *c)
{
    int32_t *cell = f->components->cell + c->begin;
    if (f->state[first] == CELL_NEW) {
        flood(f, first, c);
        if (c->cells > COMPONENT_MOST)
            for (int32_t i = 0; i < c->cells; i++) f->state[cell[i]] = CELL_OF_LARGE;
    }
    if (f->state[first] == CELL_OF_LARGE) {
        flood(f, first, c);
        c->cut = true;
    }
    cells_sort(cell, c->cells);
}

static int larger_first(const void *left, const void *right)
{
    const Component *a = left, *b = right;
    if (a->cells != b->cells) return a->cells > b->cells ? -1 : 1;
    return (a->begin > b->begin) - (a->begin < b->begin);
}

Status components_init(Components *components_out, const TileField *field, const Voice *voice,
                       Fault *fault)
{
    const size_t cells = (size_t)field->columns * (size_t)field->rows;
    Components *k = components_out;
    *k = (Components){.cell = memory_create(cells, sizeof *k->cell)};
    const ComponentSearch f = {field, k, memory_create(cells, sizeof *f.state)};
    Status status = k->cell && f.state ? STATUS_OK : memory_fault(fault, cells, sizeof *k->cell);
    size_t capacity = 0;
    int32_t filled = 0;
    for (int32_t i = 0; i < (int32_t)cells && !status; i++) {
        if (i % PIECES_OFTEN == 0 && voice_stopped(voice)) {
            status = fault_set(fault, STATUS_INTERRUPTED, "laying: stopped; run it again");
            break;
        }
        if (f.state[i] == CELL_DONE || field->label[i] == TILE_EMPTY) continue;
        status = memory_grow(&k->component, &capacity, (size_t)k->count + 1, sizeof *k->component,
                             fault);
        if (status) break;
        Component *c = &k->component[k->count++];
        *c = (Component){.begin = filled};
        find_component(&f, i, c);
        filled += c->cells;
    }
    memory_free(f.state);
    if (k->count) qsort(k->component, (size_t)k->count, sizeof *k->component, larger_first);
    if (status) components_clear(k);
    return status;
}

void components_clear(Components *k)
{
    memory_free(k->component);
    memory_free(k->cell);
    *k = (Components){0};
}
