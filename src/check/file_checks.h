/* File checks: for every file of a plan, what checks it. */
#ifndef ROWLOCK_CHECK_FILE_CHECKS_H
#define ROWLOCK_CHECK_FILE_CHECKS_H

#include "base/output_list.h"
#include "check/plan_facts.h"

typedef struct FileCheck {
    OutputId file;
    bool optional; /* plans of an earlier version may lack it */
    /* Its bytes by themselves; NULL: the next one reads them all. */
    Status (*content)(PlanFacts *e, const char *name, Fault *fault);
    /* What it says, against the files before it; NULL: nothing that another file says too. One
     * function may hold several files in a row against each other. */
    Status (*facts)(PlanFacts *e, Fault *fault);
    double done; /* of the whole check, roughly, when its facts are begun */
} FileCheck;

/* A row for each file, in the order in which facts are checked: plan.json first. */
extern const FileCheck file_checks[OUTPUTS_OF_PLAN];

#endif
