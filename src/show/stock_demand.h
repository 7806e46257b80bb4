/* Stock demand: which colours each mural should have of a shelf that is all there is.
 *
 * One transportation problem over the cells of all murals: each cell takes one colour, no colour
 * more often than the shelf has units of it, and the sum of CIEDE2000 to the pictures is the least
 * there is, each mural's counted with its priority. */
#ifndef ROWLOCK_SHOW_STOCK_DEMAND_H
#define ROWLOCK_SHOW_STOCK_DEMAND_H

#include "base/voice.h"
#include "plan/studio.h"
#include "show/show_pictures.h"

/* Cells that are looked at: where all murals have more, evenly spread ones stand for the others.
 * About what may take 50 MB with 254 colours. */
enum { DEMAND_CELLS_MOST = 100000 };

typedef struct DemandTask {
    const Show *show;
    const Studio *studio;
    const ShowPictures *pictures;
    const bool *offered; /* colours of the palette that may be taken */
    int threads;         /* 0: one a processor */
} DemandTask;

/* Fills demand_out, murals x PALETTE_MOST: cells of each colour, as many in all as the murals
 * have. Faults: too little on the shelf, no memory, stopped. */
Status stock_demand(const DemandTask *task, long *demand_out, const Voice *voice, Fault *fault);

#endif
