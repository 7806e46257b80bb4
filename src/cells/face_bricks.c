/* The bricks of a flat face in an index by cell, so that a merge finds its neighbours at once.
 * Invariant: the cell's brick covers it, and no brick behind the face is among them. */
#include "cells/face_bricks.h"

#include "base/memory.h"

Status face_bricks_init(FaceBricks *p, const Solid *solid, const Laid *laid, Fault *fault)
{
    const size_t columns = (size_t)solid->grid->columns, rows = (size_t)solid->grid->rows;
    *p = (FaceBricks){.columns = solid->grid->columns, .rows = solid->grid->rows};
    p->brick = memory_create(laid->count, sizeof *p->brick);
    p->at = memory_create(columns * rows, sizeof *p->at);
    if (!p->brick || !p->at) return memory_fault(fault, laid->count, sizeof *p->brick);
    for (size_t i = 0; i < laid->count; i++) {
        const Brick *b = &laid->brick[i];
        if (b->tier + b->tiers < solid->base) continue;
        const int32_t n = (int32_t)p->count;
        p->brick[p->count++] = (FaceBrick){.column = b->column,
                                           .row = b->row,
                                           .panel = b->panel,
                                           .columns = b->columns,
                                           .rows = b->rows,
                                           .deep = solid->build == BUILD_WALL ? b->tiers : b->rows};
        for (size_t y = 0; y < b->rows; y++)
            for (size_t x = 0; x < b->columns; x++)
                p->at[((size_t)b->row + y) * columns + (size_t)b->column + x] = n;
    }
    return STATUS_OK;
}

void face_bricks_clear(FaceBricks *p)
{
    memory_free(p->brick);
    memory_free(p->at);
    *p = (FaceBricks){0};
}
