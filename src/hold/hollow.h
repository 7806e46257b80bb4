/* Hollow: the core of a solid that bricks leave out, behind a shell that holds.
 *
 * A unit may be left out if more than `shell` units part it, along each axis and over
 * corners (the box sense), from all that is not its panel's solid: from the air before the
 * face and beside the flanks, from what is behind the back and beyond the panel's edges.
 * So the shell is that thick everywhere and nothing that is left out could be seen.
 *
 * Of these units, pockets are left out. A wall keeps every sixth course as headers that tie
 * its leaves (common bond), and piers of two columns between pockets; a plaque keeps ribs.
 * No pocket is wider than the longest brick bridges with a unit of bearing at either end.
 * What lies over a pocket is laid as corbels or lintels (see corbel.h); where no brick can,
 * the pocket is that much lower.
 *
 * On a mural under way pockets are those of the earlier plan. They stay as they are in the
 * layers of a panel that stand, and may be filled in those above. */
#ifndef ROWLOCK_HOLD_HOLLOW_H
#define ROWLOCK_HOLD_HOLLOW_H

#include "base/status.h"
#include "base/voice.h"
#include "hold/bond.h"
#include "model/grid.h"
#include "model/laid.h"
#include "model/panel.h"
#include "model/sizes.h"

typedef struct Hollow {
    int shell;
    uint8_t *left_out; /* see Solid */
    size_t units;      /* that are left out */
    int *stand;        /* panels: the lowest layers, whose pockets stay as they are; NULL: none */
} Hollow;

/* Sets solid->left_out, which hollow_clear frees, or leaves it NULL where the solid has no
 * core. */
Status hollow_carve(Hollow *hollow_out, Solid *solid, const Sizes *sizes, const Panels *panels,
                    int shell, const Voice *voice, Fault *fault);

/* The same with the pockets of an earlier plan; those that colours and sizes have no roof for
 * any more are filled where nothing stands. */
Status hollow_keep(Hollow *hollow_out, Solid *solid, const Sizes *sizes, const Panels *panels,
                   int shell, const uint8_t *left_out, const Laid *standing, Fault *fault);

/* Fills pockets near loose pieces and bricks that rest on nothing; `all` fills the whole of
 * such a panel. *filled_out is false where no such place is near a pocket. */
Status hollow_mend(Hollow *hollow, const Solid *solid, const Sizes *sizes, const Panels *panels,
                   const Laid *laid, const Bond *bond, bool all, bool *filled_out, Fault *fault);

/* Fills all pockets but those that stand. */
void hollow_fill(Hollow *hollow, Solid *solid, const Panels *panels);

/* The solid is solid again. */
void hollow_clear(Hollow *hollow, Solid *solid);

#endif
