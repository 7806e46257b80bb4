/* Sizes of bricks as rectangles that lie one way or the other.
 *
 * Idea. Costs become whole numbers in units of 1 / SHAPE_ONE of the dearest brick. The largest
 * number of which all of them are multiples is the step by which tilings can differ in cost: a
 * bound may be rounded up to it, and a tiling within one step of the bound is the best.
 *
 * Invariants. No two shapes have the same sides. Larger shapes come first, so that the first that
 * fits is a greedy choice. `unit` is such that whole costs times it never exceed real ones, and so
 * bounds hold in money too. */
#include "bricks/tiling/shape.h"

#include <math.h>
#include <stdbool.h>

static int32_t whole_cost(double cost, double dearest)
{
    return dearest > 0 ? (int32_t)lround(cost / dearest * SHAPE_ONE) : SHAPE_ONE;
}

/* Puts the shape in its place; of two with the same sides the cheaper stays. */
static void insert_shape(Shapes *shapes, Shape s)
{
    const int area = s.columns * s.rows;
    int at = 0;
    for (; at < shapes->count; at++) {
        Shape *other = &shapes->shape[at];
        if (other->columns == s.columns && other->rows == s.rows) {
            if (s.cost < other->cost) *other = s;
            return;
        }
        const int theirs = other->columns * other->rows;
        const bool alike = theirs == area && other->size == s.size;
        if (theirs < area || (theirs == area && other->size > s.size)) break;
        if (alike && other->columns < s.columns) break;
    }
    for (int i = shapes->count++; i > at; i--) shapes->shape[i] = shapes->shape[i - 1];
    shapes->shape[at] = s;
}

int32_t shapes_common_divisor(int32_t a, int32_t b)
{
    while (b) {
        const int32_t rest = a % b;
        a = b;
        b = rest;
    }
    return a;
}

void shapes_init(Shapes *shapes_out, const Sizes *sizes, const double *cost)
{
    double dearest = 0;
    for (int i = 0; cost && i < sizes->count; i++)
        if (isfinite(cost[i]) && cost[i] > dearest) dearest = cost[i];
    *shapes_out = (Shapes){.unit = INFINITY};
    bool single = false;
    for (int i = 0; i < sizes->count; i++) {
        if (cost && !isfinite(cost[i])) continue;
        const Size *z = &sizes->size[i];
        const int32_t c = cost ? whole_cost(cost[i], dearest) : SHAPE_ONE;
        if (c > 0) shapes_out->unit = fmin(shapes_out->unit, (cost ? cost[i] : 1) / c);
        const uint8_t width = (uint8_t)z->width, length = (uint8_t)z->length;
        insert_shape(shapes_out, (Shape){length, width, (uint8_t)i, c});
        insert_shape(shapes_out, (Shape){width, length, (uint8_t)i, c});
        if (z->length > shapes_out->longest) shapes_out->longest = z->length;
        if (z->length == 1) single = true;
    }
    if (!single) insert_shape(shapes_out, (Shape){1, 1, SHAPE_BARE, SHAPE_BARE_COST});
    for (int i = 0; i < shapes_out->count; i++)
        if (shapes_out->shape[i].size != SHAPE_BARE)
            shapes_out->step = shapes_common_divisor(shapes_out->step, shapes_out->shape[i].cost);
    if (shapes_out->step < 1) shapes_out->step = 1;
    if (!isfinite(shapes_out->unit)) shapes_out->unit = 0;
}
