/* The steps that bricks can carry.
 *
 * Idea. A wall is built course by course, so what stands out of it must be carried from below
 * (bricks/wall/corbel.h says what a brick may carry). Courses are gone through from the lowest.
 * Where a unit cannot be carried its cell loses that unit and what is in front of it, no more,
 * and the courses around are looked at again, until none of them changes.
 *
 * Invariants. Steps are only ever lowered, so that it ends. A course that is not marked as dirty
 * is carried as the steps now stand.
 *
 * Source. Ours; corbels as in bricks/wall/corbel.h. */
#include "hold/relief_support.h"

#include "base/memory.h"
#include "bricks/wall/corbel.h"

#include <string.h>

/* A relief while its steps are lowered. */
typedef struct Support {
    Grid *grid;
    Solid solid;
    const Panels *panels;
    Corbel *corbel; /* one for each panel */
    Cuts cuts;
    uint8_t *dirty; /* panels across x rows: to look at again */
    Course course;  /* scratch */
} Support;

/* `across` counts within the band of the row. */
static uint8_t *dirty_at(const Support *c, int across, int row)
{
    return &c->dirty[(size_t)row * (size_t)c->panels->across + (size_t)across];
}

static void mark_dirty(const Support *c, int column, int row)
{
    const int panel = panels_at(c->panels, column, row);
    *dirty_at(c, panel - panels_band(c->panels, panels_band_of(c->panels, panel)), row) = 1;
}

/* A cell that changes may bare units of its four neighbours, and carries the one above. */
static void mark_around(const Support *c, int column, int row)
{
    const int left = column > 0 ? column - 1 : column;
    const int right = column + 1 < c->grid->columns ? column + 1 : column;
    for (int y = row - 1; y <= row + 1; y++)
        for (int x = left; x <= right && y >= 0 && y < c->grid->rows; x++) mark_dirty(c, x, y);
}

/* Looks at one course of one panel; lowers what it cannot carry. */
static Status support_course(Support *c, int across, int index, int row, bool *changed,
                             Fault *fault)
{
    Corbel *corbel = &c->corbel[index];
    const Panel *panel = corbel->panel;
    int failed;
    *dirty_at(c, across, row) = 0;
    const Status status =
        corbel_course(corbel, row - panel->row, false, &c->course, &failed, fault);
    if (status || failed == 0) return status;
    *changed = true;
    for (int x = 0; x < panel->columns; x++) {
        int highest = corbel->depth - 1; /* that nothing could carry */
        while (highest >= 0 && !corbel->hangs[corbel_unit(corbel, x, highest)]) highest--;
        if (highest < 0) continue;
        const size_t cell = (size_t)row * (size_t)c->grid->columns + (size_t)(panel->column + x);
        c->grid->steps[cell] = (uint8_t)(highest - c->solid.base);
        mark_around(c, panel->column + x, row);
    }
    return STATUS_OK;
}

/* Once through all courses, from the lowest. */
static Status support_pass(Support *c, bool *changed, const Voice *voice, Fault *fault)
{
    Status status = STATUS_OK;
    *changed = false;
    for (int up = 0; up < c->panels->up && !status; up++) {
        const int begin = panels_band(c->panels, up), end = panels_band(c->panels, up + 1);
        const Panel *first = &c->panels->panel[begin];
        for (int row = first->row; row < first->row + first->rows && !status; row++) {
            if (voice_stopped(voice))
                return fault_set(fault, STATUS_INTERRUPTED,
                                 "relief: stopped; run it again to start afresh");
            for (int i = begin; i < end && !status; i++)
                while (*dirty_at(c, i - begin, row) && !status)
                    status = support_course(c, i - begin, i, row, changed, fault);
        }
    }
    return status;
}

static Status support_init(Support *c, const Relief *relief, Fault *fault)
{
    *c = (Support){.grid = relief->grid,
                   .solid = {.grid = relief->grid, .build = relief->build, .base = relief->base},
                   .panels = relief->panels};
    const size_t panels = (size_t)c->panels->count, rows = (size_t)c->grid->rows;
    const size_t courses = (size_t)c->panels->across * rows;
    cuts_init(&c->cuts, relief->sizes, NULL);
    c->corbel = memory_create(panels, sizeof *c->corbel);
    if (c->corbel) c->dirty = memory_create(courses, 1);
    if (!c->dirty) return memory_fault(fault, panels, sizeof *c->corbel);
    memset(c->dirty, 1, courses);
    Status status = STATUS_OK;
    for (size_t p = 0; p < panels && !status; p++)
        status = corbel_init(&c->corbel[p], &c->solid, &c->panels->panel[p], &c->cuts, fault);
    return status;
}

static void support_free(Support *c)
{
    for (int p = 0; c->corbel && p < c->panels->count; p++) corbel_clear(&c->corbel[p]);
    memory_free(c->corbel);
    memory_free(c->dirty);
    course_clear(&c->course);
    memory_free(c);
}

Status step_changes_list(StepChanges *changes_out, const Grid *grid, const uint8_t *asked,
                         Fault *fault)
{
    *changes_out = (StepChanges){0};
    for (int row = 0; row < grid->rows; row++)
        for (int column = 0; column < grid->columns; column++) {
            const size_t cell = (size_t)row * (size_t)grid->columns + (size_t)column;
            const uint8_t from = asked[cell], to = grid->steps[cell];
            if (from == to) continue;
            const Status status =
                memory_grow(&changes_out->change, &changes_out->capacity, changes_out->count + 1,
                            sizeof *changes_out->change, fault);
            if (status) {
                step_changes_clear(changes_out);
                return status;
            }
            changes_out->change[changes_out->count++] = (StepChange){column, row, from, to};
            changes_out->lowered += to < from;
            if (to < from) changes_out->steps += from - to;
        }
    return STATUS_OK;
}

Status relief_support_steps(const Relief *relief, StepChanges *changes_out, const Voice *voice,
                            Fault *fault)
{
    Grid *grid = relief->grid;
    *changes_out = (StepChanges){0};
    if (!grid->steps || relief->build != BUILD_WALL) return STATUS_OK;
    const size_t cells = grid_cells(grid);
    uint8_t *before = memory_create(cells, 1);
    Support *c = memory_create(1, sizeof *c);
    Status status = before && c ? STATUS_OK : memory_fault(fault, cells, 1);
    if (!status) {
        memcpy(before, grid->steps, cells);
        status = support_init(c, relief, fault);
        for (bool changed = true; changed && !status;)
            status = support_pass(c, &changed, voice, fault);
        if (!status) status = step_changes_list(changes_out, grid, before, fault);
        if (status) memcpy(grid->steps, before, cells);
        support_free(c);
    } else {
        memory_free(c);
    }
    memory_free(before);
    if (status) step_changes_clear(changes_out);
    return status;
}

void step_changes_clear(StepChanges *changes)
{
    memory_free(changes->change);
    *changes = (StepChanges){0};
}
