/* Failing: a plan whose allocations fail in turn. */
#ifndef ROWLOCK_FAILING_H
#define ROWLOCK_FAILING_H

#include "base/memory.h"
#include "plan/plan.h"

/* Each of the first allocations, then ever fewer; a run that fails must say why. The status of
 * the run that was left all it needed. */
static inline Status fail_allocations(const Job *job)
{
    for (long n = 0;; n += 1 + n / 40) {
        Fault fault = {0};
        memory_fail_after(n);
        const Status status = plan_run(job, NULL, &fault);
        const long left = memory_countdown();
        memory_fail_after(-1);
        if (left >= 0) return status;
        if (status > STATUS_UNHELD && !*fault.text) fail_msg("allocation %ld: no message", n);
    }
}

#endif
