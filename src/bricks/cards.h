/* Cards: a mural cut so that each card asks about as much of who builds it.
 *
 * What a card asks is told as its bricks and CARD_COLOUR for each colour among them. Cards lie
 * in bands from side to side; each band is cut on its own. Of all cuts whose cards keep
 * the limits, the one is found whose cards differ least, by squares, from what each should ask. */
#ifndef ROWLOCK_BRICKS_CARDS_H
#define ROWLOCK_BRICKS_CARDS_H

#include "base/status.h"
#include "model/grid.h"
#include "model/laid.h"
#include "model/panel.h"

#define CARD_COLOUR 4.0 /* a colour to be found and kept apart is worth so many bricks: ours */

static inline double card_difficulty(long bricks, int colours)
{
    return (double)bricks + CARD_COLOUR * colours;
}

/* What the cards of a cut ask. */
typedef struct CardSpread {
    int cards;
    double least, most, mean;
    double deviation; /* standard deviation, as a part of the mean */
} CardSpread;

/* The laying is in building order. */
CardSpread cards_spread(const Panels *panels, const Laid *laid);

typedef struct CardLimits {
    int least_columns, least_rows; /* a mural that is smaller is one card that way */
    int most_columns, most_rows;   /* the card asked for */
    double units;                  /* the most in a card, for its mass */
    double target;                 /* what each card should ask */
} CardLimits;

/* Cuts anew, given a laying of the same solid; *panels_out is empty where no cut keeps the
 * limits. */
Status cards_cut(Panels *panels_out, const Solid *solid, const Laid *laid, const CardLimits *limits,
                 Fault *fault);

#endif
