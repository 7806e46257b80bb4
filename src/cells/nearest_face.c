/* A region has a palette of its own, without what is barred there, in which its cells are matched
 * like any others; so what holds of match.h holds in each region. */
#include "cells/nearest_face.h"

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

/* Nearest of its colours, in the whole palette's numbers, for the cells of a region. */
static Status match_region(const NearestTask *task, Choice *choice, int region, Grid *grid,
                           Fault *fault)
{
    const Keep *keep = &task->keep;
    choose_from(choice, task, keep->region ? &keep->barred[region] : NULL);
    assert(choice->palette.count > 0);
    const MatchTask match = {.palette = &choice->palette,
                             .image = task->target,
                             .region = keep->region,
                             .number = region,
                             .threads = task->threads,
                             .voice = task->voice};
    const Status status = match_image(&match, grid, fault);
    if (status || !keep->region) return status;
    for (size_t cell = 0; cell < grid_cells(grid); cell++)
        if (keep->region[cell] == region) grid->colour[cell] = choice->whole[grid->colour[cell]];
    return STATUS_OK;
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
