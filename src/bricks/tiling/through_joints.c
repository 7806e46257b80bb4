/* Joints straight across a panel.
 *
 * Idea. First every line is marked that a brick could cross somewhere in the panel; then each brick
 * strikes out the lines that it does cross. What is left are the through joints.
 *
 * Invariants. Lines on panels' edges are never marked.
 *
 * Source. Ours: a sheet of bricks on a flexible base folds along such a line. */
#include "bricks/tiling/through_joints.h"

#include "base/memory.h"

/* Numbers the panels along one direction. */
static int32_t number_panels(const bool *edge, int count, int32_t *panel)
{
    int32_t now = 0;
    for (int i = 0; i < count; i++) {
        if (i && edge && edge[i]) now++;
        panel[i] = now;
    }
    return now + 1;
}

/* Marks where a brick could cross: left of columns, below rows. */
static void mark_possible(ThroughJoints *l)
{
    const TileField *f = l->field;
    for (int32_t r = 0; r < f->rows; r++)
        for (int32_t c = 0; c < f->columns; c++) {
            const size_t at = (size_t)r * (size_t)f->columns + (size_t)c;
            if (c && l->panel_column[c] == l->panel_column[c - 1] && field_joins(f, at - 1, at))
                l->upright[(size_t)l->panel_row[r] * (size_t)f->columns + (size_t)c] = true;
            if (r && l->panel_row[r] == l->panel_row[r - 1] &&
                field_joins(f, at - (size_t)f->columns, at))
                l->level[(size_t)l->panel_column[c] * (size_t)f->rows + (size_t)r] = true;
        }
}

static void strike_crossed(ThroughJoints *l, const Tile *t)
{
    const TileField *f = l->field;
    bool *upright = l->upright + (size_t)l->panel_row[t->row] * (size_t)f->columns;
    bool *level = l->level + (size_t)l->panel_column[t->column] * (size_t)f->rows;
    for (int32_t c = t->column + 1; c < t->column + t->columns; c++) upright[c] = false;
    for (int32_t r = t->row + 1; r < t->row + t->rows; r++) level[r] = false;
}

Status through_joints_init(ThroughJoints *joints_out, const TileField *f, const Tile *tile,
                           size_t tiles, Fault *fault)
{
    const size_t columns = (size_t)f->columns, rows = (size_t)f->rows;
    ThroughJoints l = {.field = f,
                       .panel_column = memory_create(columns, sizeof *l.panel_column),
                       .panel_row = memory_create(rows, sizeof *l.panel_row)};
    size_t uprights = 0, levels = 0;
    if (l.panel_column && l.panel_row) {
        levels = rows * (size_t)number_panels(f->edge_column, f->columns, l.panel_column);
        uprights = columns * (size_t)number_panels(f->edge_row, f->rows, l.panel_row);
        l.upright = memory_create(uprights, sizeof *l.upright);
        l.level = memory_create(levels, sizeof *l.level);
    }
    if (!l.upright || !l.level) {
        through_joints_clear(&l);
        return memory_fault(fault, columns + rows, sizeof *l.panel_row);
    }
    mark_possible(&l);
    for (size_t i = 0; i < tiles; i++) strike_crossed(&l, &tile[i]);
    for (size_t i = 0; i < uprights; i++) l.count += l.upright[i];
    for (size_t i = 0; i < levels; i++) l.count += l.level[i];
    *joints_out = l;
    return STATUS_OK;
}

void through_joints_clear(ThroughJoints *l)
{
    memory_free(l->panel_column);
    memory_free(l->panel_row);
    memory_free(l->upright);
    memory_free(l->level);
    *l = (ThroughJoints){0};
}

bool through_joints_crossed(const ThroughJoints *l, int32_t column, int32_t row, int columns,
                            int rows)
{
    const TileField *f = l->field;
    const bool *upright = l->upright + (size_t)l->panel_row[row] * (size_t)f->columns;
    const bool *level = l->level + (size_t)l->panel_column[column] * (size_t)f->rows;
    bool crossed = false;
    for (int32_t c = column + 1; c < column + columns; c++) crossed |= upright[c];
    for (int32_t r = row + 1; r < row + rows; r++) crossed |= level[r];
    return crossed;
}
