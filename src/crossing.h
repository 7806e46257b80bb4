/* Crossings: points at which four bricks meet, two joints running straight through each
 * other. A bond has none: the joint of one brick ends against the side of another, as in
 * a T, and what pulls at one brick is held by two.
 *
 * A point lies at the lower left corner of a cell. Points on a panel's edge do not count,
 * nor those that the colours force, where no brick could reach across. */
#ifndef ROWLOCK_CROSSING_H
#define ROWLOCK_CROSSING_H

#include "field.h"
#include "region.h"
#include "status.h"

typedef struct Crossings {
    size_t count;
    const TileField *field;
    int32_t *owner;  /* by cell: its brick, from 1; 0 for none */
    int32_t *plot;   /* by cell: a number of its region that the caller gives */
    int32_t *number; /* by cell: its number in its region, while that is laid anew */
} Crossings;

Status crossings_init(Crossings *crossings_out, const TileField *field, const Tile *tile,
                      size_t tiles, Fault *fault);
void crossings_clear(Crossings *crossings);

bool crossings_at(const Crossings *crossings, int32_t column, int32_t row);

/* One region laid anew among others that stay as they were. */
typedef struct CrossingView {
    const Crossings *crossings;
    int32_t plot;
} CrossingView;

/* Sets the view up; other regions may be viewed at the same time. */
CrossingView crossings_view(const Crossings *crossings, const Region *region);

/* How many crossings the cells of a window touch, one as often as cells touch it; owner: by
 * cell of the region, the first cell of its brick. For mend.h, with a CrossingView. */
int32_t crossings_around(const void *view, const Region *region, const int32_t *owner,
                         const int32_t *window, int32_t cells);

#endif
