/* Load case: how a panel is borne and turned, and what its weight then asks of the joints. */
#ifndef ROWLOCK_CLUTCH_LOAD_CASE_H
#define ROWLOCK_CLUTCH_LOAD_CASE_H

#include "clutch/demand.h"
#include "clutch/structure.h"
#include "model/grid.h"

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
    LOAD_CASES
} LoadCase;

typedef enum BearingKind {
    BORNE_BELOW, /* by the sheet, or by a footing with knobs */
    BORNE_AT_ENDS,
    BORNE_AT_COURSES,
    BORNE_AT_CORNERS,
    BORNE_AT_BACK, /* and on its footing */
    BORNE_AT_TOP,
    BEARINGS
} BearingKind;

typedef struct LoadCaseKind {
    const char *name; /* as --load-cases takes it */
    Build build;      /* the crate is of both */
    bool asked;       /* unless a job says which it asks for */
    const char *text; /* for people: "hanging" */
} LoadCaseKind;

extern const LoadCaseKind load_cases[LOAD_CASES];

/* Whether a panel of this build meets the case at all. */
bool load_case_applies(LoadCase load_case, Build build);

BearingKind load_case_bearing(LoadCase load_case, Build build);

/* crate_g: what a packed panel is shaken with. */
Demand load_case_demand(LoadCase load_case, double crate_g);

/* columns: the panel's. Fault: no memory. */
Status load_case_bear(BearingKind kind, const Structure *structure, int columns,
                      Bearing *bearing_out, Fault *fault);

/* A set of cases from names with commas between, "" those that are asked by themselves; the build's
 * alone. Fault, opened by `where`: a name that is none, or of the other build. */
Status load_cases_read(const char *text, Build build, const char *where, unsigned *cases_out,
                       Fault *fault);

#endif
