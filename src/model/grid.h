/* Grid and solid: a colour and steps a cell, and the units that follow from them. */
#ifndef ROWLOCK_MODEL_GRID_H
#define ROWLOCK_MODEL_GRID_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { RELIEF_STEPS_MOST = 120 };

/* Row 0 at the bottom, column 0 at the left as viewed. */
typedef struct Grid {
    int columns, rows;
    uint8_t *colour; /* rows x columns, palette index */
    uint8_t *steps;  /* rows x columns, tiers beyond the base; NULL: flat */
} Grid;

enum { BARRED_COLOURS = 256 }; /* whatever a byte may hold, a mark for no colour among it */

/* Colours that the cells of a region never take. */
typedef struct Barred {
    bool colour[BARRED_COLOURS];
} Barred;

/* What a choice of colours is not free to do. All is borrowed. */
typedef struct Keep {
    const bool *cell;      /* rows x columns: keeps the colour that the grid holds; NULL: none */
    int offered;           /* colours that other cells may take, the first of the palette; 0: all */
    const uint8_t *region; /* rows x columns: the place in `barred` of what holds in a cell; a cell
                              that is kept has one without bars. NULL: nothing more is barred */
    const Barred *barred;
    int regions; /* of them */
} Keep;

static inline bool keep_bars(const Keep *keep, size_t cell, int colour)
{
    return keep->region && keep->barred[keep->region[cell]].colour[colour];
}

/* What counts more or less in some cells than in others: rows x columns factors; NULL: 1
 * everywhere. All is borrowed. */
typedef struct CellWeights {
    const float *care;   /* of errors, from afar and close by; calm's have it in them */
    const float *calm;   /* of the prices of calm */
    const float *thrift; /* of the prices of joints and bricks */
} CellWeights;

/* Of a pair of cells, the mean of a factor. */
static inline double cell_weight_between(const float *weight, size_t one, size_t other)
{
    return weight ? 0.5 * ((double)weight[one] + (double)weight[other]) : 1.0;
}

Status grid_init(Grid *grid, int columns, int rows, bool relief, Fault *fault);
void grid_clear(Grid *grid);

static inline size_t grid_cells(const Grid *grid)
{
    return (size_t)grid->columns * (size_t)grid->rows;
}

typedef enum Build {
    BUILD_PLAQUE, /* on a base sheet, knobs toward the viewer; layers are tiers */
    BUILD_WALL    /* in courses, sides toward the viewer; layers are rows */
} Build;

/* The solid holds every unit with tier < top (tiers counted from 0 here, from 1 in
 * files): top = base + steps. Bricks fill it, but for the units that a hollow core leaves
 * out; none of these can be seen. */
typedef struct Solid {
    const Grid *grid;
    Build build;
    int base;                /* 1 for a plaque, the thickness in units for a wall */
    const uint8_t *left_out; /* tiers x rows x columns, 1 where no brick is; NULL: none */
} Solid;

/* Number of tiers of a cell; 0 outside the mural. */
static inline int solid_top(const Solid *solid, int column, int row)
{
    const Grid *g = solid->grid;
    if (column < 0 || column >= g->columns || row < 0 || row >= g->rows) return 0;
    return solid->base +
           (g->steps ? g->steps[(size_t)row * (size_t)g->columns + (size_t)column] : 0);
}

static inline size_t solid_unit(const Solid *solid, int column, int row, int tier)
{
    const Grid *g = solid->grid;
    const size_t line = (size_t)tier * (size_t)g->rows + (size_t)row;
    return line * (size_t)g->columns + (size_t)column;
}

/* True if bricks are to fill the unit; tier is not below 0. */
static inline bool solid_fills(const Solid *solid, int column, int row, int tier)
{
    return tier < solid_top(solid, column, row) &&
           !(solid->left_out && solid->left_out[solid_unit(solid, column, row, tier)]);
}

static inline int grid_colour(const Grid *g, int column, int row)
{
    return g->colour[(size_t)row * (size_t)g->columns + (size_t)column];
}

/* The lowest tier of a cell that can be seen: its outermost, or the first that stands out
 * beyond one of the four neighbours on the face. */
int solid_first_shown(const Solid *solid, int column, int row);

/* True if the unit is in the solid and can be seen. */
bool solid_shown(const Solid *solid, int column, int row, int tier);

/* The most tiers of any cell. */
int solid_depth(const Solid *solid);

#endif
