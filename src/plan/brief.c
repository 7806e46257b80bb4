/* The brief borrows all that it tells; what is reckoned here follows from the job alone. */
#include "plan/brief.h"

#include "base/bands.h"

Brief brief_of(const Job *job, const BuiltPart *standing, const Voice *voice)
{
    const int threads = job->threads ? job->threads : bands_processors();
    return (Brief){.job = job, .standing = standing, .threads = threads, .voice = voice};
}

const EarlierPlan *brief_earlier(const Brief *brief)
{
    return brief->standing ? brief->standing->earlier : NULL;
}

bool brief_stands(const Brief *brief, size_t cell)
{
    return brief->standing && brief->standing->cell[cell];
}

double brief_cell_width(const Brief *brief) { return brief->job->pitch; }

/* A wall shows the sides of its bricks, a plaque their tops. */
double brief_cell_height(const Brief *brief)
{
    return brief->job->build == BUILD_WALL ? brief->job->brick_height : brief->job->pitch;
}

double brief_step(const Brief *brief)
{
    return brief->job->build == BUILD_WALL ? brief->job->pitch : brief->job->brick_height;
}

Viewpoint brief_viewpoint(const Brief *brief)
{
    return (Viewpoint){brief_cell_width(brief), brief_cell_height(brief), brief->job->distance};
}

Solid brief_solid(const Brief *brief, const Grid *grid)
{
    const Job *job = brief->job;
    return (Solid){.grid = grid,
                   .build = (Build)job->build,
                   .base = job->build == BUILD_WALL ? job->thickness : 1};
}

Status brief_interrupted(Fault *fault)
{
    return fault_set(fault, STATUS_INTERRUPTED,
                     "plan: stopped from outside, nothing was changed; run it again");
}
