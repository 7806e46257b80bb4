/* Tile: one layer of labels cut into rectangles of the brick set, at the least cost. */
#ifndef ROWLOCK_BRICKS_TILING_TILE_H
#define ROWLOCK_BRICKS_TILING_TILE_H

#include "base/status.h"
#include "base/voice.h"
#include "bricks/tiling/field.h"
#include "model/laying.h"
#include "model/sizes.h"

typedef struct Tiling {
    size_t count, capacity;
    Tile *tile;   /* by lowest row, then column */
    double bound; /* proven: the field cannot be filled with fewer bricks */
    double cost;  /* proven: nor at less cost; 0 where the options give none */
    double work;  /* steps of the search and of the duals, the same on every machine */
} Tiling;

/* Fault: a cell that no brick can cover, named by column and row from 1. */
Status tile_field(Tiling *tiling_out, const TileField *field, const Sizes *sizes,
                  const LayOptions *options, const Voice *voice, Fault *fault);
void tiling_clear(Tiling *tiling);

#endif
