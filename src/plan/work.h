/* Work: a plan in the making, step by step: picture -> image of cells -> colour and steps
 * a cell -> solid -> panels -> bricks -> bond, parts, measures. No step writes a file;
 * what is made is read through `mural`.
 *
 * The steps are taken in the order of their declarations. A step that fails leaves the
 * work fit for nothing but work_free. */
#ifndef ROWLOCK_PLAN_WORK_H
#define ROWLOCK_PLAN_WORK_H

#include "base/voice.h"
#include "eye/eye.h"
#include "figures/cautions.h"
#include "figures/mural.h"
#include "hold/bond.h"
#include "hold/hollow.h"
#include "model/job.h"
#include "model/laying.h"
#include "model/stock.h"
#include "picture/picture.h"
#include "plan/built_part.h"
#include "relief/depth.h"

/* All that a run owns; Mural borrows from it. */
typedef struct Work {
    const Job *job;
    const BuiltPart *standing; /* borrowed: what of the mural is built already; NULL: nothing */
    const Voice *voice;
    Fault *fault;
    int threads;
    Palette palette;
    Palette offered; /* its first colours, all but those that only bricks that stand have */
    Sizes sizes;
    Stock stock;
    StockColours stock_colours; /* what the stock file's may be */
    long limit[PALETTE_MOST];   /* cells of each colour, where only the stock may be used, beside
                                   those that stand */
    PictureFacts facts;
    Reference reference;
    Image image;         /* the cells as sampled */
    bool image_lent;     /* the image belongs to another work */
    Image fitted;        /* the same within what the palette can show */
    const Image *target; /* which of them the colours are chosen for */
    DepthFrame frame;
    Grid grid;
    Panels panels;
    uint8_t *asked; /* steps as they were before any had to change; NULL: flat */
    StepChanges step_changes;
    PanelLoad *load;
    Hollow hollow;
    int fill;     /* colour of backing that nothing else decides */
    Laid laid;    /* without what stands, until all is laid */
    Laid built;   /* what stands */
    bool *stands; /* of all that is laid */
    LayReport laying;
    Bond bond;
    Parts parts;
    Difference difference; /* to the earlier plan */
    Cautions cautions;
    Mural mural;
} Work;

/* All three are borrowed until work_free. */
Status work_create(Work **work_out, const Job *job, const Voice *voice, Fault *fault);
void work_free(Work *work); /* NULL allowed */

Status work_take_in(Work *work);        /* palette, brick set, stock */
Status work_read_cells(Work *work);     /* the job's edited cells, where it has some */
Status work_look(Work *work);           /* the picture, as an image of cells */
Status work_choose_colours(Work *work); /* a colour a cell */
Status work_raise(Work *work);          /* steps a cell, where a relief is asked for */
Status work_lay(Work *work);            /* panels, bricks, bond, parts */
Status work_measure(Work *work);        /* figures and cautions */

/* Instead of work_look: sees what another work has seen, which outlives this one. */
void work_share_look(Work *work, const Work *seen);

/* True if every panel is one piece and every brick rests on something. */
bool work_holds(const Work *work);

Status work_interrupted(Work *work);

/* ---- between the steps, which are in work.c, work_colours.c and work_bricks.c ---- */

/* The eye at a multiple of the job's distance. */
Viewpoint work_viewpoint(const Work *work, double times);

/* Makes work->fitted, once. */
Status work_fit_tone(Work *work);

/* Chooses the colours anew, within work->limit. */
Status work_colour_cells(Work *work);

/* Cells of each colour, without those that stand. */
void work_count_cells(const Work *work, long count_out[PALETTE_MOST]);

Status work_cut_panels(Work *work);

/* What a brick of each size costs, or NULL: see LayOptions. */
const double *work_brick_costs(const Work *work, double cost_out[SIZES_MOST]);

#endif
