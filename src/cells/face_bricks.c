/* What a joint costs is a linear model of bricks by window of the face, by cells and joints, fitted
 * by least squares with coefficients that are not negative. With three unknowns the active sets
 * (Lawson and Hanson, Solving Least Squares Problems, 1974, chapter 23) come down to leaving out
 * the most negative one until there is none. */
#include "cells/face_bricks.h"

#include "base/memory.h"

#include <stdbool.h>

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

/* ---- what a joint costs ---- */

/* Of a window: its cells, its joints each way, its bricks, of which each counts by its
 * share that lies in it. */
enum { CELLS, JOINTS_X, JOINTS_Y, KNOWN, BRICKS = KNOWN, COUNTS };

typedef struct Window {
    double count[COUNTS];
} Window;

static void count_windows(const FaceBricks *p, const Grid *grid, int side, int across,
                          Window *window)
{
    for (int row = 0; row < p->rows; row++)
        for (int column = 0; column < p->columns; column++) {
            double *count = window[row / side * across + column / side].count;
            const FaceBrick *brick =
                &p->brick[p->at[(size_t)row * (size_t)p->columns + (size_t)column]];
            const int colour = grid_colour(grid, column, row);
            count[CELLS]++;
            count[JOINTS_X] += column && grid_colour(grid, column - 1, row) != colour;
            count[JOINTS_Y] += row && grid_colour(grid, column, row - 1) != colour;
            count[BRICKS] += 1.0 / (brick->columns * brick->rows);
        }
}

/* Sums of products over the windows. */
typedef struct Normal {
    double m[KNOWN][COUNTS];
} Normal;

/* A pivot this much smaller than it was says that the unknown depends on the others. */
#define PIVOT_LEAST 1e-9

/* Solves the normal equations by elimination, for what `used` names; the rest is 0. */
static void solve_normal(const Normal *normal, const bool used[KNOWN], double out[KNOWN])
{
    Normal n = *normal;
    double(*m)[COUNTS] = n.m;
    for (int i = 0; i < KNOWN; i++) out[i] = 0.0;
    for (int i = 0; i < KNOWN; i++) {
        if (!used[i] || m[i][i] <= PIVOT_LEAST * normal->m[i][i]) continue;
        for (int k = 0; k < KNOWN; k++) {
            if (k == i || !used[k]) continue;
            const double by = m[k][i] / m[i][i];
            for (int j = 0; j < COUNTS; j++) m[k][j] -= by * m[i][j];
        }
    }
    for (int i = 0; i < KNOWN; i++)
        if (used[i] && m[i][i] > PIVOT_LEAST * normal->m[i][i]) out[i] = m[i][BRICKS] / m[i][i];
}

/* None may be below 0: the one that is most so is left out, until all are not. */
static void fit_not_negative(const Normal *normal, bool used[KNOWN], double out[KNOWN])
{
    for (;;) {
        solve_normal(normal, used, out);
        int least = 0;
        for (int i = 1; i < KNOWN; i++)
            if (out[i] < out[least]) least = i;
        if (out[least] >= 0.0) return;
        used[least] = false;
    }
}

Status face_bricks_joint_cost(const FaceBricks *p, const Grid *grid, Build build, int side,
                              JointCost *cost, Fault *fault)
{
    const int across = (p->columns + side - 1) / side, up = (p->rows + side - 1) / side;
    const size_t windows = (size_t)across * (size_t)up;
    Window *window = memory_create(windows, sizeof *window);
    if (!window) return memory_fault(fault, windows, sizeof *window);
    count_windows(p, grid, side, across, window);
    Normal normal = {{{0}}};
    double found[KNOWN];
    *cost = (JointCost){0};
    for (size_t w = 0; w < windows; w++) {
        const double *count = window[w].count;
        for (int i = 0; i < KNOWN; i++)
            for (int j = 0; j < COUNTS; j++) normal.m[i][j] += count[i] * count[j];
        cost->joints_x += count[JOINTS_X];
        cost->joints_y += count[JOINTS_Y];
    }
    memory_free(window);
    bool used[KNOWN] = {true, true, build != BUILD_WALL};
    fit_not_negative(&normal, used, found);
    cost->area = found[CELLS];
    cost->x = found[JOINTS_X];
    cost->y = found[JOINTS_Y];
    return STATUS_OK;
}
