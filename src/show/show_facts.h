/* Show facts: all that was found of a show, as its writers read it, and how many pages
 * its book has. It owns nothing. */
#ifndef ROWLOCK_SHOW_SHOW_FACTS_H
#define ROWLOCK_SHOW_SHOW_FACTS_H

#include "show/calendar.h"
#include "show/make_murals.h"
#include "show/planned.h"
#include "show/show_budget.h"
#include "show/show_crates.h"
#include "show/show_difference.h"
#include "show/show_order.h"
#include "show/show_palette.h"

/* Pages of show.pdf: of the show itself, then of each mural's book; 0: it has none. */
typedef struct BookPages {
    long own, mural[SHOW_MURALS_MOST];
} BookPages;

typedef struct ShowFacts {
    const Show *show;
    const ShowFolder *folder;
    const Studio *studio;
    const Made *made;       /* one for each mural, as is the next */
    const Planned *planned; /* in the order of the file */
    const ShowOrder *order;
    const ShowCrates *crates;
    const Calendar *calendar;
    const ShowPalette *palette;
    const ShowCost *cost;
    const BudgetMend *mend;
    const ShowDifference *difference;
    BookPages *pages; /* filled in by the book's writer */
} ShowFacts;

#endif
