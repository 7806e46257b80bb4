/* Brick list: panels.csv and bricks.csv of a finished plan, read back, and whether the
 * panels tile the mural and the bricks fill its solid, but for a hollow core, as its cells say. */
#ifndef ROWLOCK_PLAN_BRICK_LIST_H
#define ROWLOCK_PLAN_BRICK_LIST_H

#include "base/status.h"
#include "model/grid.h"
#include "model/laid.h"
#include "model/palette.h"
#include "model/panel.h"
#include "model/sizes.h"

/* The plan that they are of. */
typedef struct BrickList {
    const char *folder;
    const Solid *solid;
    const Palette *palette;
    size_t left_out; /* units of the solid that are in no brick */
} BrickList;

Status brick_list_panels(const BrickList *list, Panels *panels_out, Fault *fault);

/* *sizes_out gets the sizes that the bricks have, names and sides alone. *laid_out, which is
 * in building order, is also filled in part on a fault. *left_out_out is as Solid has it, the
 * caller's to free; NULL where the bricks fill all. */
Status brick_list_read(const BrickList *list, const Panels *panels, Sizes *sizes_out,
                       Laid *laid_out, uint8_t **left_out_out, Fault *fault);

#endif
