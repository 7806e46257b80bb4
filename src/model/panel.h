/* Panel: a rectangle of the face that is built, lifted and shipped as one piece.
 * Panels tile the mural; no brick crosses a panel's edge. They lie in bands of one height
 * from side to side of the mural. */
#ifndef ROWLOCK_MODEL_PANEL_H
#define ROWLOCK_MODEL_PANEL_H

#include "base/status.h"
#include "model/grid.h"
#include "model/mounting.h"
#include "model/sizes.h"

typedef struct Panel {
    char name[24]; /* "r2c3": second row of panels from the bottom, third from the left */
    int column, row, columns, rows;
} Panel;

typedef struct Panels {
    int across, up; /* panels side by side, at most, and bands of them one above another */
    int count;      /* in the order bottom band first, left to right */
    Panel *panel;
    int *band; /* where each band begins in `panel`, and the count; NULL: each has `across` */
} Panels;

/* What decides the cut. */
typedef struct PanelLimits {
    int columns, rows; /* the most cells of a panel */
    double mass_kg;    /* the most that it may weigh; 0: what one person lifts */
    Mounting mounting; /* what it carries behind its bricks */
    double cell_width_mm, cell_height_mm;
} PanelLimits;

/* Cuts the mural into as few panels as the limits allow, all alike: their columns differ by one at
 * most, and so do their rows. Where a panel could weigh more than the limit, all
 * are cut smaller: rows are lost first, columns too once a panel is twice as wide as
 * high. How a panel will be laid is not known yet, so each unit is taken to weigh as
 * much as in the size that is heaviest for its volume. Fault: one column of units
 * alone is over the limit. */
Status panels_init(Panels *panels_out, const Solid *solid, const Sizes *sizes,
                   const PanelLimits *limits, Fault *fault);
void panels_clear(Panels *panels);

Status panels_copy(Panels *panels_out, const Panels *from, Fault *fault);

/* Whether no panel could weigh more, in the size that is heaviest for its volume. */
bool panels_keep_mass(const Panels *panels, const Solid *solid, const Sizes *sizes,
                      const PanelLimits *limits);

/* What the bricks of a panel of so many cells may weigh, kg; below 0 where what is behind them
 * weighs too much already. */
double panels_brick_kg(const PanelLimits *limits, int columns, int rows);

/* Grams of one unit in the size that is heaviest for its volume. */
double panels_unit_g(const Sizes *sizes);

/* Index of the panel that holds this cell. */
int panels_at(const Panels *panels, int column, int row);

/* Index of the first panel of a band; of the band beyond the last, the count. */
static inline int panels_band(const Panels *panels, int band)
{
    return panels->band ? panels->band[band] : band * panels->across;
}

/* The band of a panel. */
int panels_band_of(const Panels *panels, int index);

/* Index of the panel that is hung as `nth`, from 0: bottom band first, in a band from the
 * centre outwards, so that a panel can be taken down without its neighbours. */
int panels_hung(const Panels *panels, int nth);

#endif
