/* What is held grows with the cells, so each part of the work has its bytes and microseconds a
 * cell; beside them is what the program takes for a small mural. The figures were measured on a
 * photograph of 600 x 400 pixels at 240 to 1500 columns with the palette of 48. */
#include "plan/cost.h"

#include "relief/relief.h"

#include <stdio.h>

/* Of the program, and for each of its threads: pieces of pictures that are packed. */
#define OWN_BYTES 12e6
#define THREAD_BYTES 6e6

/* A cell of any mural, of one whose colours are searched for, of a relief, of one for whose layers
 * outlines are sought; and a unit of a wall's thickness behind it. */
#define CELL_BYTES 60.0
#define SEARCH_BYTES 425.0
#define RELIEF_BYTES 30.0
#define STROKE_BYTES 350.0
#define UNIT_BYTES 8.0

/* The same in microseconds of one thread; a step of a relief, and a page's share of a cell. In a
 * wall a step is one more unit of its thickness. Measured on 300 x 200 cells of fifteen kinds of
 * job, of which each is said to within a factor of two. */
#define CELL_US 14.0
#define SEARCH_US 14.0
#define RELIEF_US 25.0 /* most of it for the picture of its light */
#define STEP_US 4.0
#define STROKE_US 40.0
#define UNIT_US 33.0
#define BOOK_US 17.0
#define BOND_US 95.0 /* to lay for bond */

typedef struct Shape {
    bool searched, raised, stroked;
    int steps, units;
} Shape;

static Shape shape_of(const Job *job)
{
    const bool raised = job->relief != RELIEF_NONE || *job->steps_map || job_layered(job);
    return (Shape){.searched = job->dither == DITHER_DISTANCE && !*job->cells,
                   .raised = raised,
                   .stroked = job_stroked(job),
                   .steps = raised ? job->steps ? job->steps : RELIEF_OPTIONS_DEFAULT.steps : 0,
                   .units = job->build == BUILD_WALL ? job->thickness : 0};
}

Cost cost_of(const Brief *brief, int columns, int rows)
{
    const Job *job = brief->job;
    const Shape s = shape_of(job);
    const double cells = (double)columns * rows;
    const double bytes = CELL_BYTES + (s.searched ? SEARCH_BYTES : 0) +
                         (s.raised ? RELIEF_BYTES : 0) + (s.stroked ? STROKE_BYTES : 0) +
                         UNIT_BYTES * s.units;
    const double us = CELL_US + (s.searched ? SEARCH_US : 0) + (s.stroked ? STROKE_US : 0) +
                      (s.raised ? RELIEF_US : 0) + STEP_US * s.steps +
                      UNIT_US * (s.units ? s.units + s.steps : 0) + (job->book ? BOOK_US : 0) +
                      (job->favour == FAVOUR_BOND ? BOND_US : 0);
    return (Cost){.bytes = OWN_BYTES + THREAD_BYTES * brief->threads + bytes * cells,
                  .seconds = 1e-6 * us * cells / brief->threads};
}

static const char *bytes_text(char text[24], double bytes)
{
    snprintf(text, 24, bytes < 1e9 ? "%.0f MB" : "%.1f GB", bytes / (bytes < 1e9 ? 1e6 : 1e9));
    return text;
}

static const char *time_text(char text[24], double seconds)
{
    if (seconds < 90)
        snprintf(text, 24, "%.0f seconds", seconds);
    else if (seconds < 5400)
        snprintf(text, 24, "%.0f minutes", seconds / 60);
    else
        snprintf(text, 24, "%.1f hours", seconds / 3600);
    return text;
}

Status cost_check(const Brief *brief, int columns, int rows, Fault *fault)
{
    const Cost cost = cost_of(brief, columns, rows);
    const double most = job_memory(brief->job);
    char need[24], have[24], time[24];
    if (cost.bytes <= most) return STATUS_OK;
    return fault_set(fault, STATUS_NO_RESOURCE,
                     "memory: %d x %d cells take about %s and %s, and %s may be taken; plan fewer "
                     "cells, or raise --memory",
                     columns, rows, bytes_text(need, cost.bytes), time_text(time, cost.seconds),
                     bytes_text(have, most));
}
