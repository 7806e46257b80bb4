#include "corbel.h"

#include "memory.h"

#include <string.h>

/* Units are taken one by one; for each, of all boxes of the brick set that hold it and are
 * allowed, the one that carries most units that still hang, then the smallest. That is
 * greedy, so three orders are tried: from the face inward, left to right and right to left;
 * and from the wall outward. The first that carries most is taken. */

enum { ORDERS = 3 };

Status corbel_init(Corbel *c, const Solid *solid, const Panel *panel, Fault *fault)
{
    *c = (Corbel){.solid = solid, .panel = panel};
    for (int y = 0; y < panel->rows; y++)
        for (int x = 0; x < panel->columns; x++) {
            const int top = solid_top(solid, panel->column + x, panel->row + y);
            if (top > c->depth) c->depth = top;
        }
    const size_t units = (size_t)c->depth * (size_t)panel->columns;
    c->hue = memory_create(units, sizeof *c->hue);
    if (c->hue) c->seen = memory_create(units, sizeof *c->seen);
    if (c->seen) c->held = memory_create(units, 1);
    if (c->held) c->highest = memory_create((size_t)panel->columns, sizeof *c->highest);
    if (c->highest) return STATUS_OK;
    corbel_clear(c);
    return memory_fault(fault, units, sizeof *c->hue);
}

void corbel_clear(Corbel *c)
{
    memory_free(c->hue);
    memory_free(c->seen);
    memory_free(c->held);
    memory_free(c->highest);
    course_clear(&c->trial);
    *c = (Corbel){0};
}

static size_t unit_at(const Corbel *c, int column, int tier)
{
    return (size_t)tier * (size_t)c->panel->columns + (size_t)column;
}

void corbel_see(Corbel *c, int row)
{
    const int y = c->panel->row + row;
    for (int x = 0; x < c->panel->columns; x++) {
        const int column = c->panel->column + x;
        const int top = solid_top(c->solid, column, y);
        const int16_t hue = (int16_t)grid_colour(c->solid->grid, column, y);
        int lowest = top; /* of the neighbours: from there on a unit is shown */
        for (int side = 0; side < 4; side++) {
            const int t = solid_top(c->solid, column + (side == 0) - (side == 1),
                                    y + (side == 2) - (side == 3));
            if (t < lowest) lowest = t;
        }
        for (int tier = 0; tier < c->depth; tier++)
            c->hue[unit_at(c, x, tier)] = tier >= top                         ? (int16_t)HUE_NONE
                                          : tier >= lowest || tier == top - 1 ? hue
                                                                              : (int16_t)HUE_FREE;
    }
}

/* Marks what holds each unit; the number of units that hang. */
static int see_held(Corbel *c, int row)
{
    const int rows = c->panel->rows, holder = row > 0 ? row - 1 : row + 1;
    int hanging = 0;
    for (int x = 0; x < c->panel->columns; x++) {
        const int column = c->panel->column + x;
        const int top = solid_top(c->solid, column, c->panel->row + row);
        const int from = holder < rows ? solid_top(c->solid, column, c->panel->row + holder) : top;
        for (int tier = 0; tier < c->depth; tier++) c->held[unit_at(c, x, tier)] = tier < from;
        if (top > from) hanging += top - from;
    }
    return hanging;
}

typedef struct Box {
    int a, b, c, d; /* columns [a,b), tiers [c,d) */
} Box;

/* The number of hanging units that the box would carry, or 0 where it cannot be laid. */
static int carries(const Corbel *corbel, bool ground, const Box *box)
{
    int hanging = 0, colour = HUE_FREE;
    for (int tier = box->c; tier < box->d; tier++)
        for (int x = box->a; x < box->b; x++) {
            const int hue = corbel->hue[unit_at(corbel, x, tier)];
            if (hue == HUE_NONE) return 0;
            if (hue != HUE_FREE) {
                if (colour != HUE_FREE && colour != hue) return 0;
                colour = hue;
            }
            hanging += !corbel->held[unit_at(corbel, x, tier)];
        }
    const int area = (box->b - box->a) * (box->d - box->c);
    return (ground ? hanging < area : 2 * hanging <= area) ? hanging : 0;
}

/* The best box of columns x tiers units that holds this one. */
static void best_place(const Corbel *corbel, bool ground, int x, int tier, int columns, int tiers,
                       Box *best, int *most)
{
    for (int a = x - columns + 1; a <= x; a++)
        for (int c = tier - tiers + 1; c <= tier; c++) {
            const Box box = {a, a + columns, c, c + tiers};
            if (a < 0 || c < 0 || box.b > corbel->panel->columns || box.d > corbel->depth) continue;
            const int n = carries(corbel, ground, &box);
            if (n == 0 || n < *most) continue;
            if (n == *most && columns * tiers >= (best->b - best->a) * (best->d - best->c))
                continue;
            *most = n;
            *best = box;
        }
}

static bool carry_unit(Corbel *corbel, const Cuts *cuts, bool ground, int x, int tier,
                       Piece *piece_out)
{
    Box best = {0};
    int most = 0;
    const int deepest = corbel->depth < SIZE_LONGEST ? corbel->depth : SIZE_LONGEST;
    for (int i = 1; i <= deepest; i++) {
        const int tiers = corbel->deep ? deepest + 1 - i : i;
        for (int k = 0; k < cuts->count[tiers]; k++) {
            const Box before = best;
            best_place(corbel, ground, x, tier, cuts->length[tiers][k], tiers, &best, &most);
            if (memcmp(&before, &best, sizeof best) != 0)
                *piece_out = (Piece){best.a, (uint8_t)best.c, (uint8_t)(best.b - best.a),
                                     (uint8_t)(best.d - best.c), cuts->size[tiers][k]};
        }
    }
    for (int t = best.c; most && t < best.d; t++)
        for (int c = best.a; c < best.b; c++) corbel->hue[unit_at(corbel, c, t)] = HUE_NONE;
    return most > 0;
}

static Status add_piece(Course *course, const Piece *piece, Fault *fault)
{
    const Status status = memory_grow(&course->piece, &course->capacity, course->count + 1,
                                      sizeof *course->piece, fault);
    if (!status) course->piece[course->count++] = *piece;
    return status;
}

/* Carries what it can in one order; *failed_out units stay. */
static Status try_order(Corbel *corbel, const Cuts *cuts, int row, int order, int *failed_out,
                        Fault *fault)
{
    const int columns = corbel->panel->columns, depth = corbel->depth;
    *failed_out = 0;
    corbel->trial.count = 0;
    for (int x = 0; x < columns; x++) corbel->highest[x] = -1;
    for (int i = 0; i < depth; i++)
        for (int j = 0; j < columns; j++) {
            const int tier = order < 2 ? depth - 1 - i : i, x = order == 1 ? columns - 1 - j : j;
            const size_t unit = unit_at(corbel, x, tier);
            if (corbel->held[unit] || corbel->hue[unit] == HUE_NONE) continue;
            Piece piece;
            if (carry_unit(corbel, cuts, row == 0, x, tier, &piece)) {
                const Status status = add_piece(&corbel->trial, &piece, fault);
                if (status) return status;
                continue;
            }
            ++*failed_out;
            if (tier > corbel->highest[x]) corbel->highest[x] = tier;
        }
    return STATUS_OK;
}

static Status take_trial(const Corbel *corbel, Course *course, int *highest_out, Fault *fault)
{
    const Status status = course_copy(course, &corbel->trial, fault);
    if (status) return status;
    if (highest_out)
        memcpy(highest_out, corbel->highest, (size_t)corbel->panel->columns * sizeof *highest_out);
    return STATUS_OK;
}

Status corbel_course(Corbel *corbel, const Cuts *cuts, int row, bool deep, Course *course,
                     int *failed_out, int *highest_out, Fault *fault)
{
    corbel->deep = deep;
    *failed_out = 0;
    course->count = 0;
    for (int x = 0; highest_out && x < corbel->panel->columns; x++) highest_out[x] = -1;
    corbel_see(corbel, row);
    if (see_held(corbel, row) == 0) return STATUS_OK;
    const size_t bytes = unit_at(corbel, 0, corbel->depth) * sizeof *corbel->hue;
    memcpy(corbel->seen, corbel->hue, bytes);
    int fewest = -1, chosen = 0;
    for (int order = 0; order <= ORDERS && fewest != 0; order++) {
        /* The last round takes the chosen order again, if it was not the last one tried. */
        const int which = order < ORDERS ? order : chosen;
        if (order == ORDERS && chosen == ORDERS - 1) break;
        memcpy(corbel->hue, corbel->seen, bytes);
        int failed;
        Status status = try_order(corbel, cuts, row, which, &failed, fault);
        if (!status && (order == ORDERS || fewest < 0 || failed < fewest)) {
            fewest = failed;
            chosen = which;
            status = take_trial(corbel, course, highest_out, fault);
        }
        if (status) return status;
    }
    *failed_out = fewest;
    return STATUS_OK;
}
