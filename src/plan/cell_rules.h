/* Cell rules: what the user asks of single cells: how much they count, which colours they may not
 * take, which they keep. */
#ifndef ROWLOCK_PLAN_CELL_RULES_H
#define ROWLOCK_PLAN_CELL_RULES_H

#include "model/grid.h"
#include "model/region_list.h"
#include "output/cells_png.h"
#include "plan/brief.h"
#include "plan/region_cells.h"
#include "relief/map_frame.h"

/* A member is NULL where nothing is asked of it. */
typedef struct CellRules {
    RegionList regions;
    size_t cells;
    uint8_t *label;              /* by cell, its region; cells that keep their colour have none */
    float *care, *calm, *thrift; /* by cell, see CellWeights */
    uint8_t *pin;                /* by cell, the colour that it keeps, or PIN_NONE */
    bool *kept;                  /* by cell: it has a pin, or stands */
    long pinned[PALETTE_MOST];   /* pins of each colour, but for cells that stand */
} CellRules;

typedef struct RuleInput {
    const Palette *palette;
    const Palette *offered; /* the first of its colours: those to be had */
    const DepthFrame *frame;
    const RegionCells *regions; /* NULL: none */
} RuleInput;

/* Whether a job asks anything of single cells; own cells are what they are. */
bool cell_rules_wanted(const Job *job);

/* Reads the job's care and pins. Faults: files that cannot be read or do not fit the mural, a
 * region that bars every colour, a pin whose colour is not to be had or barred there.
 * cell_rules_clear also after a fault. */
Status cell_rules_init(CellRules *rules_out, const Brief *brief, const RuleInput *input,
                       Fault *fault);
void cell_rules_clear(CellRules *rules);

/* The same of a job whose regions are not known yet: they are found in the image of the cells.
 * Faults as of both. */
Status cell_rules_read(CellRules *rules_out, const Brief *brief, const RuleInput *input,
                       const Image *image, Fault *fault);

/* What the choice of colours is not free to do, what stands among it. rules may be NULL: nothing is
 * asked of single cells. */
Keep cell_rules_keep(const CellRules *rules, const Brief *brief, int offered);
CellWeights cell_rules_weights(const CellRules *rules);

/* Tells of each cell whether another thing is asked of it; each may be NULL. Both are of so many
 * cells, and of one palette. */
void cell_rules_compare(const CellRules *rules, const CellRules *other, size_t cells,
                        bool *differs_out);

/* Gives the cells that have a pin its colour; rules may be NULL. */
void cell_rules_pin(const CellRules *rules, Grid *grid);

/* Whether a cell may have this colour, of all that may be had: its pin, if it has one, and none
 * that its region bars. */
bool cell_rules_allow(const CellRules *rules, size_t cell, int colour);

/* Costs of each colour in each cell, see Transport: those of a cell that counts more weigh more,
 * all the others less, and what a cell may not take is TRANSPORT_NEVER. rules may be NULL. */
void cell_rules_cost(const CellRules *rules, int colours, uint16_t *cost);

/* Fault: a region whose cells are more than all that the limits leave of the colours that it may
 * take; or more pins of a colour. limit: cells of each colour beside those that stand; NULL: no
 * colour has one. */
Status cell_rules_check(const CellRules *rules, const Brief *brief, const Palette *offered,
                        const long *limit, Fault *fault);

#endif
