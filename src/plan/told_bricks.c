/* A brick of the file is found by its lowest unit, of which no other brick is, and must be the
 * plan's in all else; so a file of another plan is found out at its first brick that differs. The
 * file may have been through a spreadsheet: its rows may come in any order.
 *
 * What stays must be such that the rest can be laid in building order: a wall is laid course by
 * course, a plaque tier by tier, and nothing can be put below what stands already. */
#include "plan/told_bricks.h"

#include "base/csv.h"
#include "base/csv_guard.h"
#include "base/memory.h"

#include <stdint.h>
#include <string.h>

/* ---- the file ---- */

enum { T_COLUMN, T_ROW, T_TIER, T_COLUMNS, T_ROWS, T_TIERS, T_SIZE, T_COLOUR, T_COUNT };

typedef struct Telling {
    const EarlierPlan *earlier;
    const Csv *csv;
    int at[T_COUNT];
    uint32_t *brick; /* at its lowest unit: its number from 1, else 0 */
    bool *mark;
} Telling;

static Status find_told(Telling *t, Fault *fault)
{
    static const char *const name[T_COUNT] = {"column", "row",   "tier", "columns",
                                              "rows",   "tiers", "size", "colour"};
    for (int i = 0; i < T_COUNT; i++)
        if ((t->at[i] = csv_column(t->csv, name[i])) < 0)
            return fault_set(fault, STATUS_DATA,
                             "%s:%d: there is no column '%s'; give the progress that book.html "
                             "saved",
                             csv_place(t->csv), csv_header_line(t->csv), name[i]);
    return STATUS_OK;
}

static Status index_bricks(Telling *t, Fault *fault)
{
    const EarlierPlan *e = t->earlier;
    const size_t cells = grid_cells(&e->grid), depth = (size_t)solid_depth(&e->solid);
    t->brick = memory_create(cells, depth * sizeof *t->brick);
    if (!t->brick) return memory_fault(fault, cells, depth * sizeof *t->brick);
    for (size_t i = 0; i < e->laid.count; i++) {
        const Brick *b = &e->laid.brick[i];
        t->brick[solid_unit(&e->solid, b->column, b->row, b->tier)] = (uint32_t)i + 1;
    }
    return STATUS_OK;
}

/* Whether the file's row is this brick in all but its place. */
static bool is_same(const Telling *t, const Brick *b, const long value[T_SIZE], size_t row)
{
    const EarlierPlan *e = t->earlier;
    return value[T_COLUMNS] == b->columns && value[T_ROWS] == b->rows &&
           value[T_TIERS] == b->tiers &&
           !strcmp(csv_field(t->csv, row, t->at[T_SIZE]), e->sizes.size[b->size].name) &&
           !strcmp(csv_unguarded(csv_field(t->csv, row, t->at[T_COLOUR])),
                   e->palette.colour[b->colour].id);
}

static Status take_told(Telling *t, size_t row, Fault *fault)
{
    const EarlierPlan *e = t->earlier;
    const int depth = solid_depth(&e->solid);
    const double most[T_SIZE] = {e->grid.columns, e->grid.rows, depth,
                                 e->grid.columns, e->grid.rows, depth};
    long value[T_SIZE];
    for (int i = 0; i < T_SIZE; i++) {
        const Status status =
            csv_whole(t->csv, row, t->at[i], (CsvRange){1, most[i]}, &value[i], fault);
        if (status) return status;
    }
    const uint32_t found = t->brick[solid_unit(&e->solid, (int)value[T_COLUMN] - 1,
                                               (int)value[T_ROW] - 1, (int)value[T_TIER] - 1)];
    if (!found || !is_same(t, &e->laid.brick[found - 1], value, row))
        return csv_fault(t->csv, row, t->at[T_COLUMN], fault,
                         "%s has no such brick there; give the progress of that plan's own "
                         "book.html",
                         e->folder);
    t->mark[found - 1] = true;
    return STATUS_OK;
}

Status told_bricks_mark(const EarlierPlan *earlier, const char *path, bool *mark, Fault *fault)
{
    Csv *csv = NULL;
    Status status = csv_read(&csv, path, fault);
    Telling t = {.earlier = earlier, .csv = csv, .mark = mark};
    if (!status) status = find_told(&t, fault);
    if (!status) status = index_bricks(&t, fault);
    for (size_t row = 0; !status && row < csv_rows(csv); row++) status = take_told(&t, row, fault);
    memory_free(t.brick);
    csv_free(csv);
    return status;
}

/* ---- what can stay ---- */

static void drop(const EarlierPlan *e, bool *mark, size_t i, LooseBricks *loose)
{
    if (!mark[i]) return;
    mark[i] = false;
    if (!loose->count++) loose->first = e->laid.brick[i];
}

/* Courses from the bottom of each panel, as far as they are whole. */
static void settle_courses(const EarlierPlan *e, bool *mark, LooseBricks *loose)
{
    const Brick *b = e->laid.brick;
    bool stands = true;
    for (size_t i = 0, next; i < e->laid.count; i = next) {
        if (i == 0 || b[i].panel != b[i - 1].panel) stands = true;
        for (next = i;
             next < e->laid.count && b[next].panel == b[i].panel && b[next].row == b[i].row; next++)
            stands = stands && mark[next];
        for (size_t k = i; !stands && k < next; k++) drop(e, mark, k, loose);
    }
}

/* Whether all that the solid has below the brick is filled, and if so fills the brick's own. */
static bool rests(const EarlierPlan *e, const Brick *b, bool *filled)
{
    for (int row = b->row; b->tier && row < b->row + b->rows; row++)
        for (int column = b->column; column < b->column + b->columns; column++) {
            const size_t unit = solid_unit(&e->solid, column, row, b->tier - 1);
            if (!filled[unit] && !(e->left_out && e->left_out[unit])) return false;
        }
    for (int row = b->row; row < b->row + b->rows; row++)
        memset(filled + solid_unit(&e->solid, b->column, row, b->tier), true, b->columns);
    return true;
}

static Status settle_tiers(const EarlierPlan *e, bool *mark, LooseBricks *loose, Fault *fault)
{
    const size_t cells = grid_cells(&e->grid), depth = (size_t)solid_depth(&e->solid);
    bool *filled = memory_create(cells, depth);
    if (!filled) return memory_fault(fault, cells, depth);
    for (size_t i = 0; i < e->laid.count; i++)
        if (mark[i] && !rests(e, &e->laid.brick[i], filled)) drop(e, mark, i, loose);
    memory_free(filled);
    return STATUS_OK;
}

static bool is_hollow(const EarlierPlan *e, const Panel *p)
{
    for (int tier = 0; e->left_out && tier < solid_depth(&e->solid); tier++)
        for (int row = p->row; row < p->row + p->rows; row++)
            for (int column = p->column; column < p->column + p->columns; column++)
                if (e->left_out[solid_unit(&e->solid, column, row, tier)]) return true;
    return false;
}

/* A hollow plaque's bricks bridge its pockets, so they stand all or none. */
static Status check_hollow(const EarlierPlan *e, const bool *mark, Fault *fault)
{
    const Brick *b = e->laid.brick;
    for (size_t i = 0, next; i < e->laid.count; i = next) {
        size_t standing = 0;
        for (next = i; next < e->laid.count && b[next].panel == b[i].panel; next++)
            standing += mark[next];
        const Panel *panel = &e->panels.panel[b[i].panel];
        if (standing && standing < next - i && is_hollow(e, panel))
            return fault_set(fault, STATUS_DATA,
                             "--built: panel %s has a hollow core and %zu of its %zu bricks laid; "
                             "build it to its end, or take it apart and out of the file",
                             panel->name, standing, next - i);
    }
    return STATUS_OK;
}

Status told_bricks_settle(const EarlierPlan *earlier, bool *mark, LooseBricks *loose_out,
                          Fault *fault)
{
    *loose_out = (LooseBricks){0};
    if (earlier->solid.build == BUILD_WALL) {
        settle_courses(earlier, mark, loose_out);
        return STATUS_OK;
    }
    const Status status = check_hollow(earlier, mark, fault);
    return status ? status : settle_tiers(earlier, mark, loose_out, fault);
}
