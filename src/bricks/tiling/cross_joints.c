/* Points at which four bricks meet.
 *
 * Idea. A point is crossed if no two of the four cells around it that lie side by side share a
 * brick: bricks are rectangles, so four of them meet there. While a region is laid anew its
 * own bricks are looked up as they now are, all others as they were, so that regions can be laid at
 * the same time and the result does not depend on who is first.
 *
 * Invariants. A point that no brick could cross, for the colours around it or a panel's edge, is
 * never counted.
 *
 * Source. That a joint should end in a T, not a cross: common practice of paving, no source. */
#include "bricks/tiling/cross_joints.h"

#include "base/memory.h"

/* True if the point is inside a panel of the field. */
static bool point_is_inside(const TileField *f, int32_t column, int32_t row)
{
    if (column < 1 || column >= f->columns || row < 1 || row >= f->rows) return false;
    return !(f->edge_column && f->edge_column[column]) && !(f->edge_row && f->edge_row[row]);
}

/* The cells around a point: lower left and right, upper left and right. */
static void cells_around(const TileField *f, int32_t column, int32_t row, size_t cell_out[4])
{
    const size_t last = (size_t)row * (size_t)f->columns + (size_t)column;
    cell_out[3] = last;
    cell_out[2] = last - 1;
    cell_out[1] = last - (size_t)f->columns;
    cell_out[0] = last - (size_t)f->columns - 1;
}

static bool could_be_crossed(const TileField *f, const size_t c[4])
{
    return field_joins(f, c[0], c[1]) || field_joins(f, c[2], c[3]) || field_joins(f, c[0], c[2]) ||
           field_joins(f, c[1], c[3]);
}

bool cross_joints_at(const CrossJoints *x, int32_t column, int32_t row)
{
    size_t c[4];
    if (!point_is_inside(x->field, column, row)) return false;
    cells_around(x->field, column, row, c);
    const int32_t a = x->owner[c[0]], b = x->owner[c[1]], d = x->owner[c[2]], e = x->owner[c[3]];
    return a && b && d && e && a != b && d != e && a != d && b != e &&
           could_be_crossed(x->field, c);
}

/* ---- while a region is laid anew ---- */

CrossJointView cross_joints_view(const CrossJoints *x, const Region *region)
{
    for (int32_t i = 0; i < region->cells; i++) x->number[region->cell[i]] = i;
    return (CrossJointView){x, x->region[region->cell[0]]};
}

/* True if one brick has both cells: a brick of the region as it is now, others as they were. */
static bool share_brick(const CrossJointView *v, const int32_t *owner, size_t a, size_t b)
{
    const CrossJoints *x = v->joints;
    const bool here = x->region[a] == v->region, there = x->region[b] == v->region;
    if (here != there) return false;
    return here ? owner[x->number[a]] == owner[x->number[b]] : x->owner[a] == x->owner[b];
}

static bool is_crossed(const CrossJointView *v, const int32_t *owner, int32_t column, int32_t row)
{
    const TileField *f = v->joints->field;
    size_t c[4];
    if (!point_is_inside(f, column, row)) return false;
    cells_around(f, column, row, c);
    for (int i = 0; i < 4; i++)
        if (f->label[c[i]] == TILE_EMPTY) return false;
    return !share_brick(v, owner, c[0], c[1]) && !share_brick(v, owner, c[2], c[3]) &&
           !share_brick(v, owner, c[0], c[2]) && !share_brick(v, owner, c[1], c[3]) &&
           could_be_crossed(f, c);
}

int32_t cross_joints_around(const void *view, const Region *region, const int32_t *owner,
                            const int32_t *window, int32_t cells)
{
    const CrossJointView *v = view;
    const int columns = v->joints->field->columns;
    int32_t count = 0;
    for (int32_t i = 0; i < cells; i++) {
        const int32_t cell = region->cell[window[i]];
        for (int corner = 0; corner < 4; corner++)
            count +=
                is_crossed(v, owner, cell % columns + (corner & 1), cell / columns + corner / 2);
    }
    return count;
}

/* ---- making ---- */

Status cross_joints_init(CrossJoints *cross_joints_out, const TileField *f, const Tile *tile,
                         size_t tiles, Fault *fault)
{
    const size_t cells = (size_t)f->columns * (size_t)f->rows;
    CrossJoints x = {.field = f,
                     .owner = memory_create(cells, sizeof *x.owner),
                     .region = memory_create(cells, sizeof *x.region),
                     .number = memory_create(cells, sizeof *x.number)};
    *cross_joints_out = x;
    if (!x.owner || !x.region || !x.number) {
        cross_joints_clear(cross_joints_out);
        return memory_fault(fault, cells, sizeof *x.owner);
    }
    for (size_t i = 0; i < tiles; i++)
        for (int r = 0; r < tile[i].rows; r++)
            for (int c = 0; c < tile[i].columns; c++)
                x.owner[(size_t)(tile[i].row + r) * (size_t)f->columns +
                        (size_t)(tile[i].column + c)] = (int32_t)i + 1;
    for (int32_t r = 1; r < f->rows; r++)
        for (int32_t c = 1; c < f->columns; c++) x.count += cross_joints_at(&x, c, r);
    *cross_joints_out = x;
    return STATUS_OK;
}

void cross_joints_clear(CrossJoints *x)
{
    memory_free(x->owner);
    memory_free(x->region);
    memory_free(x->number);
    *x = (CrossJoints){0};
}
