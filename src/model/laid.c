/* Building order is a total order, since two bricks never share a lowest corner: the result does
 * not depend on how qsort sorts. */
#include "model/laid.h"

#include "base/memory.h"

#include <stdlib.h>

Status laid_add(Laid *laid, const Brick *brick, Fault *fault)
{
    if (laid->count == laid->capacity) {
        const Status status =
            memory_grow(&laid->brick, &laid->capacity, laid->count + 1, sizeof *laid->brick, fault);
        if (status) return status;
    }
    laid->brick[laid->count++] = *brick;
    return STATUS_OK;
}

/* Two bricks never share a lowest corner, so each order below is total and the
 * result does not depend on qsort's way of sorting. */
static int in_plaque(const void *left, const void *right)
{
    const Brick *a = left, *b = right;
    if (a->panel != b->panel) return a->panel < b->panel ? -1 : 1;
    if (a->tier != b->tier) return a->tier < b->tier ? -1 : 1;
    if (a->row != b->row) return a->row < b->row ? -1 : 1;
    return a->column < b->column ? -1 : a->column > b->column;
}

static int in_wall(const void *left, const void *right)
{
    const Brick *a = left, *b = right;
    if (a->panel != b->panel) return a->panel < b->panel ? -1 : 1;
    if (a->row != b->row) return a->row < b->row ? -1 : 1;
    if (a->tier != b->tier) return a->tier < b->tier ? -1 : 1;
    return a->column < b->column ? -1 : a->column > b->column;
}

void laid_sort(Laid *laid, int wall)
{
    if (laid->count)
        qsort(laid->brick, laid->count, sizeof *laid->brick, wall ? in_wall : in_plaque);
}

static bool same_corner(const Brick *a, const Brick *b)
{
    return a->column == b->column && a->row == b->row && a->tier == b->tier;
}

Status laid_mark(const Laid *laid, const Laid *part, bool **marks_out, Fault *fault)
{
    bool *marks = memory_create(laid->count, sizeof *marks);
    if (!marks) return memory_fault(fault, laid->count, sizeof *marks);
    size_t next = 0;
    for (size_t i = 0; i < laid->count && next < part->count; i++) {
        marks[i] = same_corner(&laid->brick[i], &part->brick[next]);
        next += marks[i];
    }
    *marks_out = marks;
    return STATUS_OK;
}

void laid_clear(Laid *laid)
{
    memory_free(laid->brick);
    *laid = (Laid){0};
}
