/* Components: a field cut into parts that can be tiled each on its own. */
#ifndef ROWLOCK_BRICKS_TILING_COMPONENTS_H
#define ROWLOCK_BRICKS_TILING_COMPONENTS_H

#include "base/status.h"
#include "base/voice.h"
#include "bricks/tiling/field.h"

typedef struct Component {
    int32_t begin, cells; /* in Components.cell */
    bool cut;             /* a block of a component that was too large */
} Component;

typedef struct Components {
    int32_t count;
    Component *component; /* largest first */
    int32_t *cell;        /* of the field, ascending within each component */
} Components;

/* The voice may be NULL; stopped: STATUS_INTERRUPTED. */
Status components_init(Components *components_out, const TileField *field, const Voice *voice,
                       Fault *fault);
void components_clear(Components *components);

typedef enum FieldSide { SIDE_LEFT, SIDE_RIGHT, SIDE_BELOW, SIDE_ABOVE, FIELD_SIDES } FieldSide;

/* The cell on one side of another, if one brick could lie over both; else -1. */
int32_t field_neighbour(const TileField *field, int32_t cell, FieldSide side);

#endif
