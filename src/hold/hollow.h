/* Hollow: the core of a solid that bricks leave out, behind a shell that holds. */
#ifndef ROWLOCK_HOLD_HOLLOW_H
#define ROWLOCK_HOLD_HOLLOW_H

#include "base/status.h"
#include "base/voice.h"
#include "hold/bond.h"
#include "model/grid.h"
#include "model/laid.h"
#include "model/panel.h"
#include "model/sizes.h"

/* What is to be made hollow. Borrowed. */
typedef struct HollowTask {
    Solid *solid; /* its left_out is set, and belongs to the Hollow */
    const Panels *panels;
    const Sizes *sizes;
    int shell; /* units that stay, at least 1 */
} HollowTask;

typedef struct Hollow {
    int shell;
    uint8_t *left_out; /* see Solid */
    size_t units;      /* that are left out */
    int *stand;        /* panels: the lowest layers, whose pockets stay as they are; NULL: none */
} Hollow;

/* Sets the solid's left_out, which hollow_clear frees, or leaves it NULL where the solid has no
 * core. */
Status hollow_carve(Hollow *hollow_out, const HollowTask *task, const Voice *voice, Fault *fault);

/* The same with the pockets of an earlier plan; those that colours and sizes have no roof for
 * any more are filled where nothing stands. */
Status hollow_keep(Hollow *hollow_out, const HollowTask *task, const uint8_t *left_out,
                   const Laid *standing, Fault *fault);

/* Fills pockets near loose pieces and bricks that rest on nothing, as `bond` tells of `laid`;
 * `all` fills the whole of such a panel. hollow->units is less afterwards unless no such place is
 * near a pocket. */
Status hollow_mend(Hollow *hollow, const HollowTask *task, const Laid *laid, const Bond *bond,
                   bool all, Fault *fault);

/* Fills the pockets of a panel in the layers (courses, or tiers) that `fill` has 1 for, and what
 * these must be carried by, but nothing that stands. hollow->units is less by what was filled. */
Status hollow_fill_layers(Hollow *hollow, const HollowTask *task, int panel, const uint8_t *fill,
                          Fault *fault);

/* Fills all pockets but those that stand. */
void hollow_fill(Hollow *hollow, Solid *solid, const Panels *panels);

/* The solid is solid again. */
void hollow_clear(Hollow *hollow, Solid *solid);

#endif
