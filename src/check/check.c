#include "check/check.h"

#include "base/memory.h"
#include "check/check_bond.h"
#include "check/check_difference.h"
#include "check/check_files.h"
#include "check/check_lists.h"
#include "check/check_model.h"
#include "check/check_orders.h"
#include "check/check_page.h"
#include "check/check_plan.h"
#include "check/check_solid.h"
#include "check/plan_facts.h"

#include <math.h>

static void sum_up(const PlanFacts *e, const Hold *hold, const Sums *sums, Found *found)
{
    const double none = (double)NAN;
    *found = (Found){.bricks = e->read ? (double)e->blocks : none,
                     .mass_kg = sums->mass_g / 1000,
                     .mass_off = sums->mass_off / 1000,
                     .price = sums->price,
                     .price_off = sums->price_off,
                     .longest_straight_joint = none,
                     .pieces = none,
                     .unsupported = none,
                     .weak = none,
                     .least_lap = none,
                     .most_lap = none};
    if (!hold) return;
    found->longest_straight_joint = found->pieces = found->unsupported = found->weak = 0;
    for (size_t i = 0; i < e->plots; i++) {
        found->longest_straight_joint =
            fmax(found->longest_straight_joint, (double)hold[i].straight);
        found->pieces += (double)hold[i].pieces;
        found->unsupported += (double)hold[i].unsupported;
        found->weak += (double)hold[i].weak;
        found->least_lap = fmin(found->least_lap, hold_lap(&hold[i]));
        found->most_lap = fmax(found->most_lap, hold_lap(&hold[i]));
    }
}

/* What needs the bricks to be read: tables, structure, sums. */
static Status check_tables(PlanFacts *e, Fault *fault)
{
    Hold *hold = NULL;
    Sums sums;
    Found found;
    double standing = 0;
    Status status = check_rows(e, fault);
    if (!status) status = check_difference(e, &standing, fault);
    if (!status) status = check_parts(e, &sums, fault);
    if (!status) status = check_orders(e, fault);
    if (!status) status = check_page(e, fault);
    if (!status) status = check_model(e, fault);
    if (!status && e->sound) status = check_hold(e, &hold, fault);
    if (!status) status = check_panels(e, hold, fault);
    if (!status) {
        sum_up(e, hold, &sums, &found);
        found.standing = standing;
        check_measures(e, &found);
    }
    memory_free(hold);
    return status;
}

static Status check_all(PlanFacts *e, Fault *fault)
{
    static const struct {
        Status (*check)(PlanFacts *e, Fault *fault);
        double done; /* before it starts */
    } stage[] = {{check_plan, 0},     {check_files, 0.02}, {check_face, 0.3},
                 {check_plots, 0.35}, {check_blocks, 0.4}, {check_tables, 0.7}};
    for (size_t i = 0; i < sizeof stage / sizeof *stage; i++) {
        voice_progress(e->voice, "check", stage[i].done);
        if (voice_stopped(e->voice))
            return fault_set(fault, STATUS_INTERRUPTED, "check: stopped; run it again");
        const Status status = stage[i].check(e, fault);
        if (status) return status;
    }
    voice_progress(e->voice, "check", 1);
    return STATUS_OK;
}

Status check_run(const char *folder, const Voice *voice,
                 void (*broken)(void *self, const char *line), void *self, Fault *fault)
{
    Verdict verdict = {.broken = broken, .self = self};
    PlanFacts evidence = {.folder = folder, .voice = voice, .verdict = &verdict};
    const Status status = check_all(&evidence, fault);
    const size_t places = verdict_close(&verdict);
    plan_facts_clear(&evidence);
    if (status || !places) return status;
    return fault_set(fault, STATUS_UNHELD, "%s: promises are broken in %zu places; plan it anew",
                     folder, places);
}
