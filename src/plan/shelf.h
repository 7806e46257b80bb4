/* Shelf: what the bricks in stock allow, and a laying made to live off them.
 *
 * Enough units of a colour are needed for its cells, but do not suffice: the sizes must
 * fit the laying, too. So a laying is changed where its bricks are not on the shelf in
 * their colour and size:
 * - backing takes a colour that is there in its size;
 * - a brick of a plaque is broken up into smaller ones that are there (each rests on what
 *   its units rested on, so nothing comes loose; a wall lives by its bond and is not
 *   broken up);
 * - where every brick is as deep as the solid, and so owns its cells, it may take another
 *   colour, or in a plaque be parted into units that take one each: those first that add least
 *   to the difference from the target, as far as that of the whole face may grow.
 * What still lacks then is to be bought. */
#ifndef ROWLOCK_PLAN_SHELF_H
#define ROWLOCK_PLAN_SHELF_H

#include "base/voice.h"
#include "model/grid.h"
#include "model/image.h"
#include "model/laid.h"
#include "model/palette.h"
#include "model/parts.h"
#include "model/sizes.h"
#include "model/stock.h"
#include "plan/cell_rules.h"

/* Units of each colour in stock; units_out has PALETTE_MOST items. */
void shelf_units(const Stock *stock, const Sizes *sizes, long *units_out);

/* Units of each colour that a laying takes. */
void shelf_units_taken(const Laid *laid, long *units_out);

/* Gives backing bricks, where they lack, a colour that is there in their size. Here and in
 * shelf_fit the palette may be the first colours of the stock's own: others stay there. */
Status shelf_colour_backing(Laid *laid, const Palette *palette, const Sizes *sizes,
                            const Stock *stock, Fault *fault);

typedef struct ShelfReport {
    long broken;     /* bricks broken up */
    long recoloured; /* cells */
    long lacking;    /* bricks that are still not on the shelf */
} ShelfReport;

/* What is fitted to which shelf; the laying and the cells change. */
typedef struct ShelfTask {
    const Solid *solid;
    Grid *grid; /* the solid's */
    Laid *laid; /* in building order, and stays so */
    const Palette *palette;
    const Sizes *sizes;
    const Stock *stock;
    const CellRules *rules; /* NULL: nothing is asked of single cells */
} ShelfTask;

typedef struct ShelfOptions {
    double recolour;    /* share by which the sum of CIEDE2000 to the target may grow, 0 or more */
    int threads;        /* never changes the result */
    const Voice *voice; /* stopped: STATUS_INTERRUPTED; NULL: nobody does */
} ShelfOptions;

#define SHELF_OPTIONS_DEFAULT ((ShelfOptions){.recolour = 0, .threads = 1, .voice = NULL})

/* Changes the laying, and the cells of bricks that change colour, as said above. `target` is
 * what the cells should look like. */
Status shelf_fit(const ShelfTask *task, const Image *target, const ShelfOptions *options,
                 ShelfReport *report_out, Fault *fault);

/* Costs of the sizes for laying anew (see LayOptions): 1, and up to 3 more for sizes of
 * which much was lacking. False if nothing was. */
bool shelf_costs(const Parts *parts, const Sizes *sizes, double *cost_out);

/* Bricks of the parts that are not on the shelf, spares left out. */
long shelf_lacking(const Parts *parts);

#endif
