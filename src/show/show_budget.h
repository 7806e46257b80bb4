/* Show budget: what the whole show costs, and what to change where that is more than its budget. */
#ifndef ROWLOCK_SHOW_SHOW_BUDGET_H
#define ROWLOCK_SHOW_SHOW_BUDGET_H

#include "show/show_crates.h"
#include "show/show_order.h"

/* Money; 0 where a price is not given. */
typedef struct ShowCost {
    double bricks; /* of what is bought, packs whole */
    double labour, sheets, crates, freight, site;
    double total;
} ShowCost;

ShowCost show_cost_of(const Show *show, const Planned *planned, const ShowOrder *order,
                      const ShowCrates *crates);

typedef enum MendKind { MEND_NONE, MEND_NO_SPARES, MEND_WITHOUT, MEND_SMALLER } MendKind;

/* The least change that would keep the budget: no spares, or the show without one mural, whichever
 * leaves the dearest show; else all murals smaller. */
typedef struct BudgetMend {
    MendKind kind;
    int mural;    /* that would be left out */
    double total; /* then; of smaller murals about */
    double part;  /* of their widths, where costs of bricks, labour and sheets go with areas */
} BudgetMend;

/* MEND_NONE where the budget is kept, or there is none; MEND_SMALLER with a part of 0 where even
 * what does not go with areas is beyond it. Fault: no memory. */
Status show_budget_mend(BudgetMend *mend_out, const Show *show, const Planned *planned,
                        const Studio *studio, const ShowCost *cost, Fault *fault);

#endif
