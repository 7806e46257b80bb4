/* Quote: what a mural costs in bricks, sheets, labour and days, and whether its crates
 * get to the wall. Figures only; nothing is written here.
 *
 * A range stands where an input is uncertain: the least and the most that is likely, the
 * expected figure between them. What it rests on is said beside each. */
#ifndef ROWLOCK_FIGURES_QUOTE_H
#define ROWLOCK_FIGURES_QUOTE_H

#include "base/number_style.h"
#include "figures/crates.h"

#include <stdbool.h>

typedef struct Span {
    double least, expected, most;
} Span;

/* By what part a figure may be off, up or down. */
#define QUOTE_MASS_OFF 0.10 /* masses of bricks, from a catalogue or estimated */
#define QUOTE_PACE_OFF 0.20 /* one builder's pace and another's: an assumption of our own */

typedef enum Passing {
    PASSES,         /* flat: its two longer sides are the way through */
    PASSES_ON_EDGE, /* only stood on an edge */
    PASSES_NOT
} Passing;

/* An opening or a load surface that crates meet on their way. */
typedef struct Gate {
    const char *name;
    double width_mm, height_mm; /* clear; a surface's two sides */
    double length_mm;           /* the space behind it, the diagonal not counted; 0: any */
    bool surface;               /* to lie on, not to go through */
    bool from_memory;           /* the figure was not checked against its source */
    const char *source;
} Gate;

enum { GATES = 7 };
extern const Gate quote_gates[GATES];

typedef struct Quote {
    double width_mm, height_mm, depth_mm;
    long bricks, built; /* of them, those that stand; hours, prices, sheets are of the others */
    long order, bought;
    bool priced;      /* bricks have prices */
    Span brick_price; /* from just the bricks, to all with spares in whole packs */
    double outlay;    /* of what must be bought for it, packs whole */
    int sheets;       /* base sheets, one a panel of a plaque, but for those begun */
    double sheet_price;
    Span hours, labour;                      /* labour is 0 where no rate is given */
    Span days;                               /* building, all builders at work */
    int site_days;                           /* hanging */
    double crate_price, freight, site_price; /* of all crates, ways, days on site; 0: unpriced */
    Span total;                              /* of what is priced */
    Span mass_kg, whole_kg;                  /* of the bricks, and with what hangs behind them */
    double colours_within; /* of nine colours in ten, CIEDE2000; 0: the palette does not tell it */
    int crates;
    Crate largest, heaviest; /* by face, by packed mass */
    int fullest;             /* panels of the crate that holds most */
    Passing passing[GATES];  /* of the crate that passes worst */
    int barred[GATES];       /* crates that do not pass */
} Quote;

void quote_reckon(Quote *quote_out, const Mural *mural);

/* How sure the colours are, in one sentence without its full stop; `within` as in Quote. */
void quote_colours_text(double within, const NumberStyle *style, char *text, size_t size);

/* How a crate passes a gate. */
Passing quote_passing(const Crate *crate, const Gate *gate);

#endif
