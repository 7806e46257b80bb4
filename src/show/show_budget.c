/* A change is tried by ordering and packing what would be left, so what it saves is exact. */
#include "show/show_budget.h"

#include "base/memory.h"

#include <math.h>

ShowCost show_cost_of(const Show *show, const Planned *planned, const ShowOrder *order,
                      const ShowCrates *crates)
{
    const Job *shared = &show->shared;
    ShowCost c = {.bricks = order->whole.outlay,
                  .crates = crates->crates * shared->crate_price,
                  .freight = shared->freight};
    for (int i = 0; i < show->count; i++) {
        const Job *job = &planned[i].mural->job;
        c.labour +=
            (double)(planned[i].bricks - (long)planned[i].standing.count) / job->pace * job->rate;
        if (job->build == BUILD_PLAQUE) c.sheets += planned[i].panels * job->sheet_price;
    }
    const int days = (crates->panels + shared->hanging - 1) / shared->hanging;
    c.site = days * shared->site_rate;
    c.total = c.bricks + c.labour + c.sheets + c.crates + c.freight + c.site;
    return c;
}

/* What a show would cost. */
static Status try_show(const Show *show, const Planned *planned, const Studio *studio,
                       double *total_out, Fault *fault)
{
    ShowOrder order = {0};
    ShowCrates crates = {0};
    Status status = show_order_init(&order, show, planned, studio, fault);
    if (!status) status = show_crates_init(&crates, show, planned, fault);
    if (!status) *total_out = show_cost_of(show, planned, &order, &crates).total;
    show_order_clear(&order);
    show_crates_clear(&crates);
    return status;
}

static void keep_better(BudgetMend *mend, const BudgetMend *tried, double budget)
{
    if (tried->total <= budget && (mend->kind == MEND_NONE || tried->total > mend->total))
        *mend = *tried;
}

/* The show without each of its murals in turn; murals and planned have room for the others. */
static Status try_without(BudgetMend *mend, const Show *show, const Planned *planned,
                          const Studio *studio, Fault *fault)
{
    const size_t rest = (size_t)show->count - 1;
    Show less = *show;
    Status status = STATUS_OK;
    less.count--;
    less.mural = memory_create(rest, sizeof *less.mural);
    Planned *others = memory_create(rest, sizeof *others);
    if (!less.mural || !others) status = memory_fault(fault, rest, sizeof *less.mural);
    for (int out = 0; !status && out < show->count; out++) {
        BudgetMend tried = {MEND_WITHOUT, out, 0, 0};
        for (int i = 0, to = 0; i < show->count; i++) {
            if (i == out) continue;
            less.mural[to] = show->mural[i];
            others[to++] = planned[i];
        }
        status = try_show(&less, others, studio, &tried.total, fault);
        if (!status) keep_better(mend, &tried, show->budget);
    }
    memory_free(others);
    memory_free(less.mural);
    return status;
}

Status show_budget_mend(BudgetMend *mend, const Show *show, const Planned *planned,
                        const Studio *studio, const ShowCost *cost, Fault *fault)
{
    *mend = (BudgetMend){.kind = MEND_NONE};
    if (show->budget <= 0 || cost->total <= show->budget) return STATUS_OK;
    Show spareless = *show;
    BudgetMend tried = {MEND_NO_SPARES, -1, 0, 0};
    spareless.shared.spare = 0;
    Status status = try_show(&spareless, planned, studio, &tried.total, fault);
    if (!status && show->shared.spare > 0) keep_better(mend, &tried, show->budget);
    if (!status && show->count > 1) status = try_without(mend, show, planned, studio, fault);
    if (status || mend->kind) return status;
    const double by_area = cost->bricks + cost->labour + cost->sheets,
                 left = show->budget - (cost->total - by_area);
    *mend = (BudgetMend){MEND_SMALLER, -1, show->budget, left > 0 ? sqrt(left / by_area) : 0};
    return STATUS_OK;
}
