/* What a panel is while its courses are laid: its bricks, what is asked of them, and room to look
 * at a few courses at a time.
 *
 * Idea. Courses are lists of bricks; what is known of them beside is kept by course: where joints
 * go right through, what repairs ask for, what units are worth. How they are laid is
 * wall_sweep.c's.
 *
 * Invariants. parted is that of the courses as they stand. Courses that stand are never touched.
 *
 * Source. Our own; the bonds of masonry (course_prices.c). */
#include "bricks/wall/wall_panel.h"

#include "base/memory.h"

#include <assert.h>
#include <string.h>

enum { MOST_TIERS = 255 }; /* of a course */

/* ---- looking at courses ---- */

void wall_panel_mark(WallPanel *w, int row, int reach)
{
    for (int y = row - reach; y <= row + reach; y++)
        if (y >= 0 && y < w->panel->rows) w->dirty[y] = 1;
}

void wall_panel_take_units(WallPanel *w, const CourseBrick *p)
{
    for (int tier = p->tier; tier < p->tier + p->tiers; tier++)
        for (int x = p->column; x < p->column + p->columns; x++)
            w->corbel.hue[wall_panel_unit(w, x, tier)] = HUE_NONE;
}

void wall_panel_see_hues(WallPanel *w, int row)
{
    const Course *carriers = &w->carrier[row];
    corbel_see(&w->corbel, row);
    for (size_t i = 0; i < carriers->count; i++) wall_panel_take_units(w, &carriers->brick[i]);
}

void wall_panel_view(const WallPanel *w, const Course *course, View *view)
{
    view->course = course;
    for (size_t i = 0, n = wall_panel_unit(w, 0, w->depth); i < n; i++) view->unit[i] = -1;
    for (size_t i = 0; i < course->count; i++) {
        const CourseBrick *p = &course->brick[i];
        for (int tier = p->tier; tier < p->tier + p->tiers; tier++)
            for (int x = p->column; x < p->column + p->columns; x++)
                view->unit[wall_panel_unit(w, x, tier)] = (int32_t)i;
    }
}

void wall_panel_see_joints(WallPanel *w, int row)
{
    uint8_t *parted = wall_panel_line(w, w->parted, row);
    memset(parted, 1, (size_t)w->panel->columns + 1);
    const Course *course = &w->course[row];
    for (size_t i = 0; i < course->count; i++)
        for (int x = 1; x < course->brick[i].columns; x++) parted[course->brick[i].column + x] = 0;
}

Status wall_panel_put(WallPanel *w, int row, const Course *course, Fault *fault)
{
    const Status status = course_copy(&w->course[row], course, fault);
    if (!status) wall_panel_see_joints(w, row);
    return status;
}

/* ---- what a course is laid against ---- */

/* How many courses in a row, to two, have a joint right through at each line, from the
 * neighbour on. */
static void see_runs(const WallPanel *w, int row, int step, uint8_t *run)
{
    const int near = row + step, far = near + step, rows = w->panel->rows;
    const bool there = near >= 0 && near < rows && w->course[near].count;
    const bool beyond = there && far >= 0 && far < rows && w->course[far].count;
    for (int x = 0; x <= w->panel->columns; x++)
        run[x] = !there || !wall_panel_line(w, w->parted, near)[x] ? 0
                 : beyond && wall_panel_line(w, w->parted, far)[x] ? 2
                                                                   : 1;
}

/* Marks the units of a course; false where there is none. */
static bool see_fills(const WallPanel *w, int row, uint8_t *fills)
{
    if (row < 0 || row >= w->panel->rows) return false;
    for (int tier = 0; tier < w->depth; tier++)
        for (int x = 0; x < w->panel->columns; x++)
            fills[wall_panel_unit(w, x, tier)] =
                solid_fills(w->wall->solid, w->panel->column + x, w->panel->row + row, tier);
    return true;
}

CourseBed wall_panel_bed(WallPanel *w, int row)
{
    const int rows = w->panel->rows;
    bool there[5];
    for (int i = 0; i < 5; i++) there[i] = see_fills(w, row - 2 + i, w->fills[i]);
    CourseBed bed = {.corbel = &w->corbel,
                     .bond =
                         course_prices_bond(w->wall->solid->base, w->depth == w->wall->solid->base),
                     .step = w->wall->price_step,
                     .columns = w->panel->columns,
                     .depth = w->depth,
                     .fills = w->fills[2],
                     .cross = wall_panel_line(w, w->cross, row)};
    for (int k = 0; k < 2; k++) {
        const int near = k ? row + 1 : row - 1;
        const bool laid = near >= 0 && near < rows && w->course[near].count;
        if (laid) wall_panel_view(w, &w->course[near], &w->view[k]);
        see_runs(w, row, near - row, w->run[k]);
        bed.side[k] = (CourseSide){
            .fills = there[k ? 3 : 1] ? w->fills[k ? 3 : 1] : NULL,
            .beyond = there[k ? 4 : 0] ? w->fills[k ? 4 : 0] : NULL,
            .view = laid ? &w->view[k] : NULL,
            .run = w->run[k],
            .ask = wall_panel_line(w, k ? w->carry : w->bear, row),
            .ask_other = laid ? wall_panel_line(w, k ? w->bear : w->carry, near) : NULL};
    }
    return bed;
}

/* ---- as it begins and ends ---- */

Status wall_panel_stand(WallPanel *w, const Brick *brick, size_t bricks, Fault *fault)
{
    for (size_t i = 0; i < bricks; i++) {
        const int row = brick[i].row - w->panel->row;
        const CourseBrick laid = {(int16_t)(brick[i].column - w->panel->column), brick[i].tier,
                                  brick[i].columns, brick[i].tiers, brick[i].size};
        const Status status = course_add(&w->course[row], &laid, fault);
        if (status) return status;
        w->standing = row + 1;
    }
    for (int row = 0; row < w->standing; row++) wall_panel_see_joints(w, row);
    return STATUS_OK;
}

static bool is_hollow(const WallPanel *w)
{
    for (int row = 0; row < w->panel->rows && w->wall->solid->left_out; row++)
        for (int x = 0; x < w->panel->columns; x++)
            for (int tier = 0; tier < w->depth; tier++)
                if (w->wall->solid->left_out[solid_unit(w->wall->solid, w->panel->column + x,
                                                        w->panel->row + row, tier)])
                    return true;
    return false;
}

/* The next `count` bytes of the panel's block. */
static uint8_t *next_bytes(uint8_t **next, size_t count)
{
    uint8_t *bytes = *next;
    *next += count;
    return bytes;
}

/* All arrays of bytes are of one block. */
static bool make_bytes(WallPanel *w)
{
    const size_t rows = (size_t)w->panel->rows, edges = (size_t)w->panel->columns + 1;
    const size_t lines = rows * edges;
    const size_t units = wall_panel_unit(w, 0, w->depth);
    uint8_t *next = w->bytes = memory_create(4 * lines + rows + 2 * edges + 5 * units, 1);
    if (!w->bytes) return false;
    uint8_t **const by_line[] = {&w->parted, &w->bear, &w->carry, &w->cross};
    for (int i = 0; i < 4; i++) *by_line[i] = next_bytes(&next, lines);
    w->dirty = next_bytes(&next, rows);
    for (int i = 0; i < 2; i++) w->run[i] = next_bytes(&next, edges);
    for (int i = 0; i < 5; i++) w->fills[i] = next_bytes(&next, units);
    return true;
}

Status wall_panel_init(WallPanel *w, const Wall *wall, int panel, Fault *fault)
{
    *w = (WallPanel){.wall = wall, .panel = &wall->panels->panel[panel], .index = panel};
    const size_t rows = (size_t)w->panel->rows;
    const Status status = corbel_init(&w->corbel, wall->solid, w->panel, &wall->cuts, fault);
    if (status) return status;
    w->depth = w->corbel.depth;
    w->flat = w->depth == wall->solid->base && !is_hollow(w);
    assert(w->depth < MOST_TIERS);
    const size_t units = wall_panel_unit(w, 0, w->depth);
    w->course = memory_create(rows, sizeof *w->course);
    w->carrier = memory_create(rows, sizeof *w->carrier);
    for (int i = 0; i < 2; i++) w->view[i].unit = memory_create(units, sizeof *w->view[i].unit);
    w->dual = memory_create(rows * units, sizeof *w->dual);
    w->least = memory_create(rows, sizeof *w->least);
    const bool made = make_bytes(w) && w->course && w->carrier && w->view[0].unit &&
                      w->view[1].unit && w->dual && w->least;
    if (!made) return memory_fault(fault, rows * units, sizeof *w->dual);
    for (size_t row = 0; row < rows; row++) w->least[row] = -1;
    return profile_dp_create(&w->dp, wall->voice, fault);
}

void wall_panel_finish(WallPanel *w)
{
    corbel_clear(&w->corbel);
    for (int y = 0; w->carrier && y < w->panel->rows; y++) course_clear(&w->carrier[y]);
    memory_free(w->carrier);
    memory_free(w->bytes);
    for (int i = 0; i < 2; i++) memory_free(w->view[i].unit);
    course_clear(&w->last);
    memory_free(w->dual);
    memory_free(w->least);
    profile_dp_free(w->dp);
    w->dual = NULL;
    w->least = NULL;
    w->dp = NULL;
    w->carrier = NULL;
    w->bytes = NULL;
    w->view[0] = w->view[1] = (View){0};
}

void wall_panel_clear(WallPanel *w)
{
    for (int y = 0; w->course && y < w->panel->rows; y++) course_clear(&w->course[y]);
    memory_free(w->course);
    wall_panel_finish(w);
}
