/* Load case: what happens to a panel on its way to the wall and there. */
#ifndef ROWLOCK_CLUTCH_LOAD_CASE_H
#define ROWLOCK_CLUTCH_LOAD_CASE_H

#include "base/status.h"
#include "model/grid.h"

#include <stdbool.h>

typedef enum LoadCase {
    CASE_HANGING,   /* a plaque on the wall */
    CASE_SIDE,      /* on either of its sides */
    CASE_FACE_DOWN, /* over heads */
    CASE_STANDING,  /* a wall on its lowest course */
    CASE_CARRIED,   /* on its back, bearers under both ends of each course */
    CASE_LIFTED,    /* under both ends of its lowest course, steadied at the top */
    CASE_CRATE,     /* packed, and shaken any way */
    CASE_COURSES,   /* on its back, bearers under its first and its last course */
    CASE_TIPPED,    /* tipped over its foot until it is flat, by that alone */
    CASE_HUNG,      /* by its top course */
    CASE_QUARTERS,  /* hung by four bricks at its quarter points */
    LOAD_CASES
} LoadCase;

typedef struct LoadCaseKind {
    const char *name; /* as --load-cases takes it */
    Build build;      /* the crate is of both */
    bool asked;       /* unless a job says which it asks for */
    const char *text; /* for people: "hanging" */
} LoadCaseKind;

extern const LoadCaseKind load_cases[LOAD_CASES];

/* Whether a panel of this build meets the case at all. */
bool load_case_applies(LoadCase load_case, Build build);

/* A set of cases from names with commas between, "" those that are asked by themselves; the build's
 * alone. Fault, opened by `where`: a name that is none, or of the other build. */
Status load_cases_read(const char *text, Build build, const char *where, unsigned *cases_out,
                       Fault *fault);

#endif
