/* Plan json: plan.json, the plan's own account of itself. */
#ifndef ROWLOCK_OUTPUT_PLAN_JSON_H
#define ROWLOCK_OUTPUT_PLAN_JSON_H

#include "base/json_file.h"
#include "figures/mural.h"

/* One file of the plan. */
typedef struct PlanFile {
    char name[48];
    char sha256[65];
} PlanFile;

/* The document; NULL, or making->failed, where there is no memory. */
json_t *plan_json_document(Making *making, const Mural *mural, const PlanFile *files, size_t count);

/* Writes plan.json; files are listed by name. */
Status plan_json_write(const Mural *mural, const PlanFile *files, size_t count, const char *path,
                       Fault *fault);

#endif
