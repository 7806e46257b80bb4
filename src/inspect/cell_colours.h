/* Cell colours: what colour each cell of a photographed face has, light and camera taken away by
 * what the plan says of all of them. */
#ifndef ROWLOCK_INSPECT_CELL_COLOURS_H
#define ROWLOCK_INSPECT_CELL_COLOURS_H

#include "inspect/cell_light.h"

enum { NOISE_CLASSES = 4 }; /* by lightness */

typedef struct CellColours {
    Lab *cell;                      /* rows x columns, D50, as if lit evenly */
    Lab centre[PALETTE_MOST];       /* how each colour of the palette looks in this photograph */
    double noise[NOISE_CLASSES][3]; /* standard deviations of L, a, b of right cells */
    double fit;                     /* median CIEDE2000 of cells from the plan */
} CellColours;

/* cell_colours_clear also after a fault: no memory, too few cells that can be seen (STATUS_DATA,
 * which `place` opens). */
Status cell_colours_init(CellColours *colours_out, const PanelFace *face, const CellLight *cells,
                         const char *place, Fault *fault);
void cell_colours_clear(CellColours *colours);

static inline int noise_class(double lightness)
{
    return lightness < 20 ? 0 : lightness < 40 ? 1 : lightness < 65 ? 2 : 3;
}

/* L, a or b by its number. */
static inline double lab_part(Lab lab, int part)
{
    return part == 0 ? lab.L : part == 1 ? lab.a : lab.b;
}

/* Whether the light of a cell can be used. */
static inline bool cell_usable(const CellLight *cell) { return cell->seen && cell->clipped < 0.1f; }

#endif
