/* Panel face: what a photograph of a panel must show, as the plan has it.
 *
 * Places on the face are told in plane units: its middle is (0, 0), x goes to the right and y up,
 * and the longer of its sides goes from -1 to 1. */
#ifndef ROWLOCK_INSPECT_PANEL_FACE_H
#define ROWLOCK_INSPECT_PANEL_FACE_H

#include "plan/plan_reader.h"

enum { FACE_NOTHING = 255 }; /* no colour of a palette */

typedef struct PanelFace {
    const EarlierPlan *plan;
    int panel;                     /* index into the plan's */
    int column, row;               /* its lower left cell in the mural, from 0 */
    int columns, rows;             /* cells that are there */
    double unit_x, unit_y;         /* plane units of a cell */
    double unit_z;                 /* plane units of a step */
    uint8_t *colour;               /* rows x columns, palette index; row 0 at the bottom */
    uint8_t *below;                /* what would show if the brick were missing, or FACE_NOTHING */
    uint8_t *steps;                /* tiers beyond the lowest; NULL: all alike */
    int32_t *brick;                /* of plan->laid */
    double light[PALETTE_MOST][3]; /* linear sRGB, not clipped */
    bool has_sheet;                /* it is known what the sheet behind looks like: */
    Lab sheet;
} PanelFace;

/* Up to the mural's row `to`, from 1; 0: the whole panel. The plan is borrowed. Faults: no such
 * panel, a row that is not of the panel (STATUS_USAGE), no memory. panel_face_clear also after a
 * fault. */
Status panel_face_init(PanelFace *face_out, const EarlierPlan *plan, const char *panel, int to,
                       Fault *fault);
void panel_face_clear(PanelFace *face);

/* Tells what colour the sheet that the bricks lie on has: an id of the palette, or "#rrggbb".
 * Faults (STATUS_USAGE): it is neither, a wall has no sheet. */
Status panel_face_set_sheet(PanelFace *face, const char *colour, Fault *fault);

/* How the face would be if it were photographed otherwise. */
typedef enum FaceTurn { FACE_UPSIDE_DOWN, FACE_MIRRORED, FACE_LEFT_UP, FACE_RIGHT_UP } FaceTurn;
Status panel_face_turned(PanelFace *face_out, const PanelFace *face, FaceTurn turn, Fault *fault);

static inline size_t face_cell(const PanelFace *face, int column, int row)
{
    return (size_t)row * (size_t)face->columns + (size_t)column;
}

/* Plane units of a place in cells, from the lower left corner. */
static inline double face_x(const PanelFace *face, double column)
{
    return (column - face->columns / 2.0) * face->unit_x;
}
static inline double face_y(const PanelFace *face, double row)
{
    return (row - face->rows / 2.0) * face->unit_y;
}
static inline double face_z(const PanelFace *face, size_t cell)
{
    return face->steps ? face->steps[cell] * face->unit_z : 0;
}

#endif
