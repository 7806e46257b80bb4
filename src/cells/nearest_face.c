/* A region has a palette of its own, without what is barred there, in which its cells are matched
 * like any others; so what holds of match.h holds in each region. */
#include "cells/nearest_face.h"

#include "base/bands.h"
#include "base/memory.h"
#include "cells/match.h"

#include <assert.h>

/* The colours that a region may take, and where they stand in the whole palette. */
typedef struct Choice {
    Palette palette;
    uint8_t whole[PALETTE_MOST];
} Choice;

static void choose_from(Choice *choice, const NearestTask *task, const Barred *barred)
{
    const int offered = task->keep.offered ? task->keep.offered : task->palette->count;
    choice->palette.count = 0;
    for (int c = 0; c < offered; c++) {
        if (barred && barred->colour[c]) continue;
        choice->whole[choice->palette.count] = (uint8_t)c;
        choice->palette.colour[choice->palette.count++] = task->palette->colour[c];
    }
}

/* The cells of one region being matched. */
typedef struct Matching {
    const NearestTask *task;
    const Match *match;
    const Choice *choice;
    int region;
    Grid *grid;
} Matching;

static void match_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    const Matching *m = context;
    const Image *target = m->task->target;
    for (int row = begin; row < end; row++)
        for (int column = 0; column < target->columns; column++) {
            const size_t at = (size_t)row * (size_t)target->columns + (size_t)column;
            if (m->task->keep.region[at] != m->region) continue;
            const Lab lab = lab_from_xyz(image_at(target, column, row));
            m->grid->colour[at] = m->choice->whole[match_nearest(m->match, lab)];
        }
}

static Status match_region(const NearestTask *task, Choice *choice, int region, Grid *grid,
                           Fault *fault)
{
    Match *match;
    const Keep *keep = &task->keep;
    choose_from(choice, task, keep->region ? &keep->barred[region] : NULL);
    assert(choice->palette.count > 0);
    Status status = match_create(&match, &choice->palette, fault);
    if (!status && !keep->region)
        status = match_image(match, task->target, task->threads, grid, task->voice, fault);
    Matching matching = {task, match, choice, region, grid};
    if (!status && keep->region)
        bands_run(task->threads, task->target->rows, 4, match_rows, &matching);
    match_free(match);
    return status;
}

Status nearest_face(const NearestTask *task, Grid *grid, Fault *fault)
{
    const int regions = task->keep.region ? task->keep.regions : 1;
    Choice *choice = memory_create(1, sizeof *choice);
    Status status = choice ? STATUS_OK : memory_fault(fault, 1, sizeof *choice);
    for (int region = 0; !status && region < regions; region++)
        status = match_region(task, choice, region, grid, fault);
    memory_free(choice);
    return status;
}
