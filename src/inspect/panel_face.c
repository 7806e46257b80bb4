/* The face of a cell is the outermost of its units; the brick that holds it is what is looked at,
 * and the brick behind it is what shows where it is missing: a plaque's next tier, a wall's next
 * unit, or the base sheet or a hole, of which the plan knows no colour. */
#include "inspect/panel_face.h"

#include "base/memory.h"
#include "base/text.h"

#include <math.h>
#include <string.h>

static Status face_room(PanelFace *face, bool relief, Fault *fault)
{
    const size_t cells = (size_t)face->columns * (size_t)face->rows;
    face->colour = memory_create(cells, 1);
    face->below = memory_create(cells, 1);
    face->brick = memory_create(cells, sizeof *face->brick);
    face->steps = relief ? memory_create(cells, 1) : NULL;
    if (!face->colour || !face->below || !face->brick || (relief && !face->steps))
        return memory_fault(fault, cells, sizeof *face->brick);
    memset(face->below, FACE_NOTHING, cells);
    return STATUS_OK;
}

/* The units of a cell, from its proportions. */
static void face_scale(PanelFace *face)
{
    const Job *job = &face->plan->job;
    const bool wall = face->plan->solid.build == BUILD_WALL;
    const double width = job->pitch, height = wall ? job->brick_height : job->pitch;
    const double step = wall ? job->pitch : job->brick_height;
    const double half = fmax(face->columns * width, face->rows * height) / 2;
    face->unit_x = width / half;
    face->unit_y = height / half;
    face->unit_z = step / half;
}

static Status find_named(PanelFace *face, const char *name, int to, Fault *fault)
{
    const Panels *panels = &face->plan->panels;
    int i = 0;
    while (i < panels->count && strcmp(panels->panel[i].name, name) != 0) i++;
    if (i == panels->count)
        return fault_set(fault, STATUS_USAGE,
                         "%s: the plan has no panel of this name; its panels are r1c1 to %s", name,
                         panels->panel[panels->count - 1].name);
    const Panel *p = &panels->panel[i];
    if (to && (to <= p->row || to > p->row + p->rows))
        return fault_set(fault, STATUS_USAGE,
                         "--to: row %d is not of panel %s, which has the mural's rows %d to %d; "
                         "give one of them",
                         to, name, p->row + 1, p->row + p->rows);
    face->panel = i;
    face->column = p->column;
    face->row = p->row;
    face->columns = p->columns;
    face->rows = to ? to - p->row : p->rows;
    return STATUS_OK;
}

/* What the face's brick and the one behind it are, of each cell that the brick covers. */
static void take_brick(PanelFace *face, size_t index)
{
    const EarlierPlan *plan = face->plan;
    const Brick *b = &plan->laid.brick[index];
    for (int row = b->row; row < b->row + b->rows; row++)
        for (int column = b->column; column < b->column + b->columns; column++) {
            const int x = column - face->column, y = row - face->row;
            if (x < 0 || y < 0 || x >= face->columns || y >= face->rows) continue;
            const int top = solid_top(&plan->solid, column, row);
            const size_t cell = face_cell(face, x, y);
            if (b->tier + b->tiers == top) face->brick[cell] = (int32_t)index;
            if (b->tier + b->tiers < top) face->below[cell] = b->colour; /* the last is nearest */
        }
}

Status panel_face_init(PanelFace *face, const EarlierPlan *plan, const char *panel, int to,
                       Fault *fault)
{
    *face = (PanelFace){.plan = plan};
    const Grid *grid = &plan->grid;
    Status status = find_named(face, panel, to, fault);
    if (!status) status = face_room(face, grid->steps != NULL, fault);
    if (status) return status;
    face_scale(face);
    for (int row = 0; row < face->rows; row++)
        for (int column = 0; column < face->columns; column++) {
            const size_t cell = face_cell(face, column, row);
            const int x = face->column + column, y = face->row + row;
            face->colour[cell] = (uint8_t)grid_colour(grid, x, y);
            if (face->steps)
                face->steps[cell] = (uint8_t)(solid_top(&plan->solid, x, y) - plan->solid.base);
        }
    for (size_t i = 0; i < plan->laid.count; i++)
        if (plan->laid.brick[i].panel == face->panel) take_brick(face, i);
    for (int i = 0; i < plan->palette.count; i++) {
        const Rgb light = linear_from_xyz(plan->palette.colour[i].xyz);
        memcpy(face->light[i], (double[]){light.r, light.g, light.b}, sizeof face->light[i]);
    }
    return STATUS_OK;
}

Status panel_face_set_sheet(PanelFace *face, const char *colour, Fault *fault)
{
    const EarlierPlan *plan = face->plan;
    const int id = palette_find(&plan->palette, colour);
    uint8_t rgb[3];
    char clip[TEXT_CLIP];
    if (plan->solid.build == BUILD_WALL)
        return fault_set(fault, STATUS_USAGE, "--sheet: a wall lies on no sheet; leave it out");
    if (id < 0 && !text_rgb(colour, rgb))
        return fault_set(fault, STATUS_USAGE,
                         "--sheet: '%s' is no colour of the plan; give an id of its palette, or "
                         "six hexadecimal digits of sRGB, such as #6e7064",
                         text_clip(clip, colour));
    face->sheet = id < 0 ? lab_from_srgb8(rgb) : plan->palette.colour[id].lab;
    face->has_sheet = true;
    return STATUS_OK;
}

/* Where a cell of the turned face comes from. */
static size_t cell_before(const PanelFace *face, FaceTurn turn, int column, int row)
{
    switch (turn) {
    case FACE_UPSIDE_DOWN:
        return face_cell(face, face->columns - 1 - column, face->rows - 1 - row);
    case FACE_MIRRORED:
        return face_cell(face, face->columns - 1 - column, row);
    case FACE_LEFT_UP:
        return face_cell(face, face->columns - 1 - row, column);
    default:
        return face_cell(face, row, face->rows - 1 - column);
    }
}

Status panel_face_turned(PanelFace *out, const PanelFace *face, FaceTurn turn, Fault *fault)
{
    *out = *face;
    if (turn >= FACE_LEFT_UP) {
        out->columns = face->rows;
        out->rows = face->columns;
        out->unit_x = face->unit_y;
        out->unit_y = face->unit_x;
    }
    const Status status = face_room(out, face->steps != NULL, fault);
    for (int row = 0; !status && row < out->rows; row++)
        for (int column = 0; column < out->columns; column++) {
            const size_t from = cell_before(face, turn, column, row);
            const size_t to = face_cell(out, column, row);
            out->colour[to] = face->colour[from];
            out->brick[to] = face->brick[from];
            if (out->steps) out->steps[to] = face->steps[from];
        }
    return status;
}

void panel_face_clear(PanelFace *face)
{
    memory_free(face->colour);
    memory_free(face->below);
    memory_free(face->steps);
    memory_free(face->brick);
    face->colour = face->below = face->steps = NULL;
    face->brick = NULL;
}
