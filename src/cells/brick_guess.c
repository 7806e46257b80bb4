/* A field of cells is cut into the fewest rectangles at its inner corners (Lipski, Lodi, Luccio,
 * Mugnai and Pagli 1979), so corners tell what bricks it takes, where joints only tell how long its
 * outline is. By Euler's formula a place where just three cells are alike, or just two beside each
 * other, is half a brick, and one where no two beside each other are is a whole one. Of faces laid
 * in earnest, eleven pictures at three thrifts by windows of 16 x 16 cells, it was .55, .43, and
 * .95 to 1.0 of a brick: cells and places together explain the bricks (R2 .991) better than cells
 * and joints do (.936).
 *
 * Invariant: what lies outside of the face is a field of its own, as if it had one colour. */
#include "cells/brick_guess.h"

#include <string.h>

enum { OUTSIDE = NO_COLOUR - 1, OWN = -1 };

/* Half bricks where cells a, b meet c, d above them. */
static inline int halves(const int q[4])
{
    const int a = q[0], b = q[1], c = q[2], d = q[3];
    const int alike = (a == b) + (c == d) + (a == c) + (b == d);
    if (alike == 2) return (a == b) != (c == d); /* a corner, or a straight side */
    return alike == 0 ? 2 : alike == 1;
}

static inline int count_at(const BrickGuess *g, const int q[4])
{
    if (q[0] == NO_COLOUR || q[1] == NO_COLOUR) return 0;
    if (g->wall) return q[0] != q[1];
    return q[2] == NO_COLOUR || q[3] == NO_COLOUR ? 0 : halves(q);
}

/* Place x, y has the cells x - 1 and x of a row: of row y in a wall; in a plaque of row y - 1, and
 * of row y above it. */
static int cells_at(const BrickGuess *g) { return g->wall ? 2 : 4; }
static int column_of(int x, int k) { return x - 1 + (k & 1); }
static int row_of(const BrickGuess *g, int y, int k) { return g->wall ? y : y - 1 + (k >> 1); }

static bool on_face(const Grid *grid, int column, int row)
{
    return column >= 0 && row >= 0 && column < grid->columns && row < grid->rows;
}

static void colours_at(const BrickGuess *g, int x, int y, int q[4])
{
    const Grid *grid = g->grid;
    const bool inside = x > 0 && x < grid->columns && y < grid->rows && (y > 0 || g->wall);
    if (inside) { /* nearly all of them */
        const uint8_t *low =
            grid->colour + (size_t)row_of(g, y, 0) * (size_t)grid->columns + (size_t)(x - 1);
        for (int k = 0; k < 2; k++) q[k] = low[k];
        for (int k = 0; k < 2 && !g->wall; k++) q[2 + k] = low[grid->columns + k];
        return;
    }
    for (int k = 0; k < cells_at(g); k++) {
        const int column = column_of(x, k), row = row_of(g, y, k);
        q[k] = on_face(grid, column, row) ? grid_colour(grid, column, row) : OUTSIDE;
    }
}

/* The mean of the cells' thrift. */
static double weight_at(const BrickGuess *g, int x, int y)
{
    if (!g->thrift) return 1.0;
    double sum = 0.0;
    int count = 0;
    for (int k = 0; k < cells_at(g); k++) {
        const int column = column_of(x, k), row = row_of(g, y, k);
        if (!on_face(g->grid, column, row)) continue;
        sum += (double)g->thrift[(size_t)row * (size_t)g->grid->columns + (size_t)column];
        count++;
    }
    return sum / count;
}

/* The places that cells have a part in. Every row of a wall has an end on either side, and no joint
 * there. */
typedef struct Places {
    int left, right, low, high;
} Places;

static Places places_of(const BrickGuess *g, const CellBox *cells)
{
    const int right = cells->column + cells->columns, high = cells->row + cells->rows;
    if (!g->wall) return (Places){cells->column, right, cells->row, high};
    const int last = g->grid->columns - 1;
    return (Places){cells->column > 0 ? cells->column : 1, right > last ? last : right, cells->row,
                    high - 1};
}

static double count_places(const BrickGuess *g, const Places *p)
{
    double sum = 0.0;
    for (int y = p->low; y <= p->high; y++)
        for (int x = p->left; x <= p->right; x++) {
            int q[4] = {0};
            colours_at(g, x, y, q);
            const int count = count_at(g, q);
            if (count) sum += count * weight_at(g, x, y);
        }
    return sum;
}

/* A run of a wall that is longer than the longest brick ends without a joint, too, so that one
 * joint less saves less than a brick. Ours: with so much four walls of two pictures took 0 to 2 %
 * fewer bricks, at the same difference, than with what was fitted to the bricks of each. */
#define WALL_JOINT_BRICKS 0.7

double brick_guess_unit(const BrickGuess *guess) { return guess->wall ? WALL_JOINT_BRICKS : 0.5; }

double brick_guess_count(const BrickGuess *g)
{
    const Places all = places_of(g, &(CellBox){0, 0, g->grid->columns, g->grid->rows});
    return count_places(g, &all);
}

double brick_guess_around(const BrickGuess *g, const CellBox *cells)
{
    if (!(g->price > 0.0)) return 0.0;
    const Places places = places_of(g, cells);
    return g->price * count_places(g, &places);
}

/* Only colours that a place has already make a difference there. */
static void add_costs_at(const BrickGuess *g, int x, int y, int own, double cost[COLOUR_SLOTS])
{
    int q[4] = {0};
    colours_at(g, x, y, q);
    q[own] = OWN;
    const int other = count_at(g, q);
    const double price = g->price * weight_at(g, x, y);
    for (int k = 0; k < cells_at(g); k++) {
        if (k == own || q[k] == NO_COLOUR) continue;
        bool met = false;
        for (int i = 0; i < k; i++) met = met || (i != own && q[i] == q[k]);
        if (met) continue;
        int with[4];
        memcpy(with, q, sizeof with);
        with[own] = q[k];
        cost[q[k]] += price * (count_at(g, with) - other);
    }
}

void brick_guess_add_costs(const BrickGuess *g, int column, int row, double cost[COLOUR_SLOTS])
{
    if (!(g->price > 0.0)) return;
    const Places p = places_of(g, &(CellBox){column, row, 1, 1});
    for (int y = p.low; y <= p.high; y++)
        for (int x = p.left; x <= p.right; x++)
            add_costs_at(g, x, y, (x == column) + (g->wall ? 0 : 2 * (y == row)), cost);
}

void brick_ring_init(BrickRing *ring, const BrickGuess *g, const CellBox *cells)
{
    ring->guess = g;
    ring->count = 0;
    if (!(g->price > 0.0)) return;
    const Places p = places_of(g, cells);
    const int right = cells->column + cells->columns, high = cells->row + cells->rows;
    for (int y = p.low; y <= p.high; y++)
        for (int x = p.left; x <= p.right; x++) {
            const bool within_x = x > cells->column && x < right;
            if (within_x && (g->wall || (y > cells->row && y < high))) continue;
            int *q = ring->place[ring->count].colour;
            colours_at(g, x, y, q);
            for (int k = 0; k < cells_at(g); k++) {
                const int column = column_of(x, k), row = row_of(g, y, k);
                if (column >= cells->column && column < right && row >= cells->row && row < high)
                    q[k] = OWN;
            }
            ring->place[ring->count++].weight = weight_at(g, x, y);
        }
}

double brick_ring_cost(const BrickRing *ring, int colour)
{
    double sum = 0.0;
    for (int i = 0; i < ring->count; i++) {
        int q[4] = {0};
        for (int k = 0; k < cells_at(ring->guess); k++) {
            const int other = ring->place[i].colour[k];
            q[k] = other < 0 ? colour : other;
        }
        const int count = count_at(ring->guess, q);
        if (count) sum += count * ring->place[i].weight;
    }
    return ring->guess->price * sum;
}
