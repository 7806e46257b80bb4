/* Calm: a price on what disturbs and is not in the picture.
 *
 * A search for the eye at a distance mixes colours as far apart as the mean of the eye's
 * difference allows: pale skin becomes a labyrinth of vivid yellow and grey. Two prices hold it
 * back. A pair of cells near each other pays for the contrast that the picture does not have
 * between them,
 *     price (x + 2 x^2 / s),    x = max(0, D(face one, face other) - D(picture one, other)),
 * D being CIEDE2000 and s how far the palette's colours lie apart; so edges of the picture are
 * free, colours that melt into each other cost little, vivid beside pale costs much. And a cell
 * pays for chroma beyond the picture's, for which the eye forgives too little sooner than too
 * much. Both fade where the eye blends cells: from far off, nothing of a pair is seen; and chroma
 * blends sooner than lightness, so D is taken of colours that have come so much nearer to each
 * other. Both are dearer where the picture is even than where it is busy and masks them (as
 * contrasts do: Legge and Foley, J. Optical Society of America 70(12), 1980, from memory). Accents
 * may stand out more than they do. */
#ifndef ROWLOCK_CELLS_CALM_H
#define ROWLOCK_CELLS_CALM_H

#include "base/status.h"
#include "eye/eye.h"
#include "model/grid.h"
#include "model/image.h"
#include "model/palette.h"

#include <stddef.h>

/* Pairs that begin at a cell: side by side, diagonal, two apart along a row or a column. Each is
 * counted once; a cell is in twice as many. */
enum { CALM_PAIRS = 6, CALM_PARTNERS = 2 * CALM_PAIRS };

/* Colours a row of the table, in whole lanes. */
enum { CALM_PITCH = 256 };

typedef struct Calm {
    int columns, rows, colours;
    double pair;  /* price of an excess of 1 between cells side by side; 0: none */
    double bend;  /* 2 / s */
    double vivid; /* price of 1 of chroma beyond what is allowed */
    ptrdiff_t apart[CALM_PARTNERS]; /* cells from a cell to each partner, where there is one */
    float chroma[CALM_PITCH];       /* of each colour */
    float *between;     /* colours x CALM_PITCH: D of each two colours beside each other */
    float *contrast;    /* cells x CALM_PAIRS: what is free, D in the picture at least */
    float *chroma_most; /* by cell */
    float *share;       /* by cell: times the prices */
} Calm;

typedef struct CalmProblem {
    const Image *target;
    const Palette *palette;
    Viewpoint viewpoint;
    double calm; /* weight, 0 to 1 */
    const float
        *accent; /* by cell, 0 to 1 (accent.h), borrowed: what is free of prices; NULL: none */
    const float *share; /* by cell, borrowed: times the prices; NULL: 1 everywhere */
    int threads;        /* never changes the result */
    const Voice *voice; /* see SearchProblem */
} CalmProblem;

/* What is left of stripes two cells wide when the eye's luminance kernel has blurred them, 0 to
 * 1. */
double calm_seen(const Viewpoint *viewpoint);

/* How much of a calm is wanted from a viewpoint: what is seen, times more from farther off, where
 * mixing saves more difference by each excess. */
double calm_wanted(const Viewpoint *viewpoint);

/* With calm 0 nothing is held and nothing costs. calm_clear also after a fault. */
Status calm_init(Calm *calm_out, const CalmProblem *problem, Fault *fault);
void calm_clear(Calm *calm);

/* A cell that a cell has a price with. */
typedef struct CalmPartner {
    size_t at;
    float price; /* of an excess of 1 */
    float contrast;
} CalmPartner;

/* Returns how many there are; none where nothing costs. */
int calm_partners(const Calm *calm, int column, int row, CalmPartner partner_out[CALM_PARTNERS]);

/* Of `count` places the nearest. */
static inline int calm_within(int at, int count)
{
    return at < 0 ? 0 : at >= count ? count - 1 : at;
}

/* The price of a pair of these two colours. */
static inline double calm_pair(const Calm *calm, const CalmPartner *p, int one, int other)
{
    const float *between = calm->between + (size_t)one * CALM_PITCH;
    const double x = (double)between[other] - (double)p->contrast;
    return x > 0.0 ? (double)p->price * (x + calm->bend * x * x) : 0.0;
}

/* The price of a colour's chroma in a cell. */
double calm_vivid(const Calm *calm, size_t at, int colour);

/* Adds the prices of each colour in the cell to its cost; partners without a colour, above
 * PALETTE_MOST, have no price. cost has CALM_PITCH items. */
void calm_add_costs(const Calm *calm, const uint8_t *colour, int column, int row, double *cost);

/* The prices of all pairs that begin in a row. */
double calm_pairs_of_row(const Calm *calm, const uint8_t *colour, int row);

/* Of the nearest colours to the target, those that cost too much chroma give way to the least sum
 * of difference and price, but for those kept: flat vivid areas are a minimum that a search does
 * not leave. */
void calm_soften(const Calm *calm, const CalmProblem *problem, const Keep *keep, Grid *grid);

#endif
