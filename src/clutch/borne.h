/* Borne: how a panel is held in a load case, and what its weight then asks of the joints. */
#ifndef ROWLOCK_CLUTCH_BORNE_H
#define ROWLOCK_CLUTCH_BORNE_H

#include "clutch/demand.h"
#include "clutch/load_case.h"
#include "clutch/structure.h"

typedef enum BearingKind {
    BORNE_BELOW, /* by the sheet, or by a footing with knobs */
    BORNE_AT_ENDS,
    BORNE_AT_COURSES,
    BORNE_AT_CORNERS,
    BORNE_AT_BACK, /* and on its footing */
    BORNE_AT_TOP,
    BORNE_AT_QUARTERS,
    BEARINGS
} BearingKind;

BearingKind load_case_bearing(LoadCase load_case, Build build);

/* crate_g: what a packed panel is shaken with. */
Demand load_case_demand(LoadCase load_case, double crate_g);

/* columns: the panel's. Fault: no memory. */
Status load_case_bear(BearingKind kind, const Structure *structure, int columns,
                      Bearing *bearing_out, Fault *fault);

#endif
