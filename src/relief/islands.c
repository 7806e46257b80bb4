/* Area opening by union-find (Meijster and Wilkinson 2002: see the header).
 *
 * Cells are taken from the highest level down. A cell joins the islands of those neighbours
 * that were taken before it; an island that is still too small when a lower cell joins it
 * becomes part of that cell's island, and so is lowered to its level. Pits are islands of the
 * map turned upside down. Invariant: the parent of a cell is taken later than the cell, and the
 * root of a tree is the last taken of its island. */
#include "relief/islands.h"

#include "base/memory.h"

#include <string.h>

/* Cells that are done form trees; a root's entry is the size of its island, negative. */
typedef struct Forest {
    uint8_t *level;
    int columns, rows;
    int32_t least;
    int32_t *parent; /* a cell of the tree nearer the root, or -size */
    uint32_t *order; /* cells from the highest level down, by place within a level */
} Forest;

enum { WAITING = INT32_MIN }; /* a cell that is not done yet */

static void sort_cells(Forest *f, size_t cells)
{
    size_t start[257] = {0};
    for (size_t i = 0; i < cells; i++) start[255 - f->level[i] + 1]++;
    for (int k = 0; k < 256; k++) start[k + 1] += start[k];
    for (size_t i = 0; i < cells; i++) f->order[start[255 - f->level[i]]++] = (uint32_t)i;
}

static int32_t root_of(Forest *f, int32_t cell)
{
    int32_t root = cell;
    while (f->parent[root] >= 0) root = f->parent[root];
    while (cell != root) {
        const int32_t next = f->parent[cell];
        f->parent[cell] = root;
        cell = next;
    }
    return root;
}

/* Joins the island of a neighbour that is done to the cell. An island that is large enough
 * stays a tree of its own, and what lies below it counts as large. */
static void join_island(Forest *f, int32_t neighbour, int32_t cell)
{
    if (f->parent[neighbour] == WAITING) return;
    const int32_t root = root_of(f, neighbour);
    if (root == cell) return;
    if (f->level[root] == f->level[cell] || -f->parent[root] < f->least) {
        const int64_t size = -(int64_t)f->parent[cell] - f->parent[root];
        f->parent[cell] = size > INT32_MAX - 1 ? -(INT32_MAX - 1) : (int32_t)-size;
        f->parent[root] = cell;
    } else {
        f->parent[cell] = -(f->least > -f->parent[cell] ? f->least : -f->parent[cell]);
    }
}

static void open_islands(Forest *f)
{
    const size_t width = (size_t)f->columns, cells = width * (size_t)f->rows;
    sort_cells(f, cells);
    for (size_t i = 0; i < cells; i++) f->parent[i] = WAITING;
    for (size_t i = 0; i < cells; i++) {
        const int32_t cell = (int32_t)f->order[i];
        const int column = (int)((size_t)cell % width), row = (int)((size_t)cell / width);
        f->parent[cell] = -1;
        if (column > 0) join_island(f, cell - 1, cell);
        if (column < f->columns - 1) join_island(f, cell + 1, cell);
        if (row > 0) join_island(f, cell - f->columns, cell);
        if (row < f->rows - 1) join_island(f, cell + f->columns, cell);
    }
    for (size_t i = cells; i-- > 0;) { /* a parent comes later in order: it is settled */
        const uint32_t cell = f->order[i];
        if (f->parent[cell] >= 0) f->level[cell] = f->level[f->parent[cell]];
    }
}

static void invert_levels(uint8_t *level, size_t cells)
{
    for (size_t i = 0; i < cells; i++) level[i] = (uint8_t)(255 - level[i]);
}

Status islands_close(uint8_t *level, int columns, int rows, int least, Fault *fault)
{
    if (least < 2) return STATUS_OK;
    const size_t cells = (size_t)columns * (size_t)rows;
    Forest f = {.level = level, .columns = columns, .rows = rows, .least = least};
    f.parent = memory_create(cells, sizeof *f.parent);
    f.order = memory_create(cells, sizeof *f.order);
    const Status status =
        f.parent && f.order ? STATUS_OK : memory_fault(fault, cells, sizeof *f.order);
    if (!status) {
        open_islands(&f);
        invert_levels(level, cells);
        open_islands(&f);
        invert_levels(level, cells);
    }
    memory_free(f.parent);
    memory_free(f.order);
    return status;
}
