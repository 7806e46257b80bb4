/* Each file is read anew by a reader of its own, and what it says is held against the others; what
 * could not be read is said once, and what stands on it is left alone. Nothing here includes what
 * lays or writes plans: a mistake there would else be made here too. */
#include "check/check.h"

#include "check/check_bond.h"
#include "check/check_files.h"
#include "check/check_forces.h"
#include "check/check_plan.h"
#include "check/file_checks.h"
#include "check/plan_facts.h"

#include <math.h>

static void sum_up(const PlanFacts *e, Found *found)
{
    const double none = (double)NAN;
    const Sums *sums = &e->sums;
    const Hold *hold = e->hold;
    *found = (Found){.bricks = e->read ? (double)e->blocks : none,
                     .standing = e->standing,
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

static Status take_step(PlanFacts *e, double done, Status (*check)(PlanFacts *e, Fault *fault),
                        Fault *fault)
{
    voice_progress(e->voice, "check", done);
    if (voice_stopped(e->voice))
        return fault_set(fault, STATUS_INTERRUPTED, "check: stopped; run it again");
    return check(e, fault);
}

static Status check_all(PlanFacts *e, Fault *fault)
{
    Found found;
    /* plan.json, then that the files are there and whole, then what they say. */
    Status status = take_step(e, 0, file_checks[0].facts, fault);
    if (!status) status = take_step(e, 0.02, check_files, fault);
    for (const FileCheck *c = file_checks + 1; c < file_checks + OUTPUTS_OF_PLAN && !status; c++)
        if (c->facts && c->facts != c[-1].facts) status = take_step(e, c->done, c->facts, fault);
    if (!status) status = take_step(e, 0.96, check_forces, fault);
    if (status) return status;
    sum_up(e, &found);
    check_measures(e, &found);
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
