/* Offer: what a client is asked for, from what the mural costs. Figures only. */
#ifndef ROWLOCK_FIGURES_OFFER_H
#define ROWLOCK_FIGURES_OFFER_H

#include "figures/quote.h"

/* Money is 0 where nothing of it has a price; that part is then not included. */
typedef struct Offer {
    double width_mm, height_mm, depth_mm; /* depth from the wall */
    double whole_kg;
    long bricks;
    int colours, panels, crates, site_days;
    double colours_within;                        /* as in Quote */
    int weeks;                                    /* that building takes, at most */
    double mural, crating, freight, installation; /* before tax */
    double net, tax, total;
    double deposit, rest; /* of the total */
} Offer;

void offer_reckon(Offer *offer_out, const Mural *mural);

#endif
