/* Region cells: which region each cell is in, and what is asked of regions. They are drawn whole,
 * or told by strokes whose outlines are found along the picture's edges. */
#ifndef ROWLOCK_PLAN_REGION_CELLS_H
#define ROWLOCK_PLAN_REGION_CELLS_H

#include "model/image.h"
#include "model/region_list.h"
#include "plan/brief.h"
#include "relief/map_frame.h"
#include "relief/stroked_cells.h"

typedef struct RegionCells {
    RegionList list;
    uint8_t *label; /* by cell: a place in the list */
    /* How it was found by strokes; of labels that are counted through from 0. */
    int labels;                   /* below 2: there is no outline */
    uint8_t region[REGIONS_MOST]; /* of each label: a place in the list */
    uint8_t *found;               /* by cell: a label */
    StrokedCells sheet;
} RegionCells;

typedef struct RegionInput {
    const Palette *palette;
    const DepthFrame *frame;
    const Image *image; /* of the cells */
} RegionInput;

/* Whether a job has regions, or would have them if it told all of them. */
bool region_cells_wanted(const Job *job);

/* Reads the job's regions. Faults: one of their files without the other, files that cannot be read
 * or do not fit each other. region_cells_clear also after a fault. */
Status region_cells_init(RegionCells *regions_out, const Brief *brief, const RegionInput *input,
                         Fault *fault);
void region_cells_clear(RegionCells *regions);

/* Notes where outlines that were found by strokes are not to be trusted. It takes as long as they
 * did, so whoever shows them says so later. Fault: no memory. */
Status region_cells_say_doubts(const RegionCells *regions, const Voice *voice, Fault *fault);

#endif
