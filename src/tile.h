/* Tile: one layer of labels cut into rectangles of the brick set, at the least cost.
 *
 * A label is a colour, or TILE_FREE where any colour will do, or TILE_EMPTY where
 * there is nothing to fill. A brick fills cells that are not empty; those of them
 * that have a colour have one and the same. */
#ifndef ROWLOCK_TILE_H
#define ROWLOCK_TILE_H

#include "laying.h"
#include "region.h"
#include "sizes.h"
#include "status.h"
#include "voice.h"

#include <stdint.h>

typedef struct TileField {
    int columns, rows;
    const uint8_t *label; /* rows x columns */
    /* True where a panel's edge runs left of a column, or below a row; no brick
     * crosses it. NULL: none. */
    const bool *edge_column, *edge_row;
    const int32_t *below; /* rows x columns: which brick lies under the cell; NULL: no matter */
    const char *name;     /* for messages: "tier 3"; NULL: none */
} TileField;

typedef struct Tile {
    int32_t column, row;
    uint8_t columns, rows;
    uint8_t size;  /* index into Sizes */
    uint8_t label; /* colour of its cells, TILE_FREE where none has one */
} Tile;

typedef struct Tiling {
    size_t count, capacity;
    Tile *tile;   /* by lowest row, then column */
    double bound; /* proven: the field cannot be filled with fewer bricks */
    double work;  /* steps of the search and of the prices, the same on every machine */
} Tiling;

/* Fault: a cell that no brick can cover, named by column and row from 1. */
Status tile_field(Tiling *tiling_out, const TileField *field, const Sizes *sizes,
                  const LayOptions *options, const Voice *voice, Fault *fault);
void tiling_clear(Tiling *tiling);

#endif
