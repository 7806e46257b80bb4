/* Field: one layer of labels to be cut into bricks, and the bricks as they lie in it.
 *
 * A label is a colour, or TILE_FREE where any colour will do, or TILE_EMPTY where
 * there is nothing to fill. A brick fills cells that are not empty; those of them
 * that have a colour have one and the same. */
#ifndef ROWLOCK_BRICKS_TILING_FIELD_H
#define ROWLOCK_BRICKS_TILING_FIELD_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { TILE_FREE = 254, TILE_EMPTY = 255 };

typedef struct Tile {
    int32_t column, row;
    uint8_t columns, rows;
    uint8_t size;  /* index into Sizes */
    uint8_t label; /* colour of its cells, TILE_FREE where none has one */
} Tile;

/* What a place costs beyond its brick. */
typedef struct TilePrices {
    const void *context;
    /* In parts of SHAPE_ONE (shape.h), 0 or more, a multiple of step. Of the place, size and label
     * are not told. */
    int32_t (*of)(const void *context, const Tile *place);
    int32_t step;
} TilePrices;

typedef struct TileField {
    int columns, rows;
    const uint8_t *label; /* rows x columns */
    /* True where a panel's edge runs left of a column, or below a row; no brick
     * crosses it. NULL: none. */
    const bool *edge_column, *edge_row;
    const int32_t *below;     /* rows x columns: which brick lies under the cell; NULL: no matter */
    const TilePrices *prices; /* NULL: none */
    const int32_t *line;      /* columns: what it costs, in parts of SHAPE_ONE and a multiple of the
                                 step of prices, if no place of a region crosses the left edge of a
                                 column; 0 outside of it. NULL: nothing */
    const char *name;         /* for messages: "tier 3"; NULL: none */
} TileField;

/* True if one brick could lie over both cells, were they neighbours in one panel. */
static inline bool field_joins(const TileField *field, size_t a, size_t b)
{
    const uint8_t p = field->label[a], q = field->label[b];
    if (p == TILE_EMPTY || q == TILE_EMPTY) return false;
    return p == q || p == TILE_FREE || q == TILE_FREE;
}

#endif
