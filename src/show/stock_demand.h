/* Stock demand: which colours each mural should have of a shelf that is all there is.
 *
 * One transportation problem over the cells of all murals that do not stand yet: each takes one
 * colour, no colour more often than the shelf has units of it, and the sum of CIEDE2000 to the
 * pictures is the least there is, each mural's counted with its priority, and what its cells may
 * not take left out. It is solved for every cell, however many there are; that takes two bytes for
 * each cell and colour, and 25 ms for every ten thousand cells in 48 colours. */
#ifndef ROWLOCK_SHOW_STOCK_DEMAND_H
#define ROWLOCK_SHOW_STOCK_DEMAND_H

#include "base/voice.h"
#include "plan/studio.h"
#include "show/show_pictures.h"
#include "show/standing.h"

typedef struct DemandTask {
    const Show *show;
    const Studio *studio;
    const ShowPictures *pictures;
    const Standing *standing; /* of each mural */
    const bool *offered;      /* colours of the palette that may be taken */
    int threads;              /* 0: one a processor */
    double memory;            /* bytes that may be taken */
} DemandTask;

/* Cells of a mural that do not stand. */
size_t stock_demand_cells(const DemandTask *task, int mural);

/* Fills demand_out, murals x PALETTE_MOST: cells of each colour, as many in all as do not stand.
 * Faults: too little on the shelf, more memory than may be taken, stopped, what the murals ask of
 * single cells cannot be read. */
Status stock_demand(const DemandTask *task, long *demand_out, const Voice *voice, Fault *fault);

#endif
