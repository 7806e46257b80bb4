/* Bands from the top of the sheet down; in a band columns from left to right, in a column charts
 * from the top down: so the order is the one that a page is read in. A band is as high as its
 * highest chart. Cells are tried from the largest down, in the eighths of a point that charts are
 * drawn in.
 *
 * A box of a chart lies below its own title and right of that title's left edge, and no other
 * title that does so is nearer: charts are told apart by place alone. */
#include "book/arrange.h"

#include "book/chart_sheet.h"

#include <math.h>

#define APART 5.0 /* mm between charts side by side: by eye */
#define BELOW 1.5 /* mm between charts one below another: by eye */

/* The sheet as it fills: the band and the column in hand. */
typedef struct Filling {
    double band, band_height;    /* upper edge */
    double column, column_width; /* left edge */
    double next;                 /* where the next chart of the column begins */
} Filling;

/* Moves on to a place for a chart of this size; false where the sheet has none. */
static bool find_place(Filling *f, const Arrangement *a, double width, double height)
{
    if (f->band_height > 0.0 && f->next + height <= f->band + f->band_height &&
        f->column + width <= a->width)
        return true;
    const double beside = f->column + f->column_width + APART;
    if (f->band_height > 0.0 && beside + width <= a->width && f->band + height <= a->height) {
        *f = (Filling){f->band, f->band_height, beside, 0.0, f->band};
        return true;
    }
    const double band = f->band_height > 0.0 ? f->band + f->band_height + BELOW : 0.0;
    *f = (Filling){band, 0.0, 0.0, 0.0, band};
    return width <= a->width && band + height <= a->height;
}

static bool try_cell(Arrangement *a, double cell)
{
    Filling f = {0};
    for (int i = 0; i < a->count; i++) {
        ArrangedChart *c = &a->chart[i];
        const double drawn = c->us * cell + 2.0 * CHART_SIDE;
        const double width = fmax(drawn, c->title);
        const double height =
            ARRANGED_HEAD + 2.0 * CHART_EDGE + chart_snap(cell * a->aspect) * c->vs;
        if (!find_place(&f, a, width, height)) return false;
        c->x = f.column;
        c->y = f.next;
        /* The first line ends in a corner that is the sheet's own. */
        if (c->y == 0.0 && c->x + c->title > a->width - a->corner) return false;
        f.column_width = fmax(f.column_width, width);
        f.band_height = fmax(f.band_height, f.next + height - f.band);
        f.next += height + BELOW;
    }
    a->cell = cell;
    return true;
}

bool arrange_charts(Arrangement *a)
{
    const double step = POINT_MM / 8.0;
    for (long steps = lround(chart_snap(a->most) / step); (double)steps * step >= a->least; steps--)
        if (try_cell(a, (double)steps * step)) return true;
    return false;
}
