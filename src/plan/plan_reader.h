/* Plan reader: a plan as its folder tells it, read back so that a mural which is under way can
 * be planned on from it.
 *
 * Only what a new plan rests on is read: plan.json, cells.png, steps.png, panels.csv and
 * bricks.csv. These must be the files that plan.json was written with, and the bricks must
 * fill the solid as the cells say, but for as many units as a hollow core leaves out; else nothing
 * is taken from any of them. */
#ifndef ROWLOCK_PLAN_PLAN_READER_H
#define ROWLOCK_PLAN_PLAN_READER_H

#include "base/digest.h"
#include "base/status.h"
#include "model/grid.h"
#include "model/job.h"
#include "model/laid.h"
#include "model/palette.h"
#include "model/panel.h"
#include "model/sizes.h"

typedef struct EarlierPlan {
    const char *folder;
    Job job;                  /* the settings that it was planned with */
    char sha256[DIGEST_TEXT]; /* of the reference */
    Palette palette;
    int offered; /* the first colours of the palette; others were only of what stood then */
    Sizes sizes; /* that its bricks have, by name and sides alone */
    Grid grid;
    Solid solid;       /* of the grid */
    uint8_t *left_out; /* the solid's */
    Panels panels;
    Laid laid; /* in building order */
} EarlierPlan;

/* The folder is borrowed; the whole is the caller's to free, NULL allowed. Faults: no plan
 * there, a file that is not the one that plan.json tells of, bricks that do not fill the solid. */
Status plan_reader_create(EarlierPlan **earlier_out, const char *folder, Fault *fault);
void plan_reader_free(EarlierPlan *earlier);

/* The settings of a plan as those of the next one. What may have changed since is left
 * open, as not given: reference, palette, stock and cells. */
Status plan_reader_settings(Job *job, const char *folder, Fault *fault);

#endif
