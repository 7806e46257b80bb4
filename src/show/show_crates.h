/* Show crates: the panels of all murals in crates, and the crates in vehicles.
 *
 * In a crate panels stand upright one behind another, a board between two of them; how thick
 * packing is, and how many panels a crate may hold and how much it may weigh, is the job's. The
 * volume of all crates is compared with a bound that no such packing is under. Crates are numbered
 * in the order in which they are opened, that of their first panel to be hung, and loaded the
 * other way round.
 *
 * A crate stands on the floor, or on one that was loaded before it and is at least as long and as
 * deep; none carries more than it weighs itself. So it can always be taken out before those that
 * were loaded before it. */
#ifndef ROWLOCK_SHOW_SHOW_CRATES_H
#define ROWLOCK_SHOW_SHOW_CRATES_H

#include "show/planned.h"

/* A panel and its place in the order of hanging, over all murals. */
typedef struct Packed {
    const Planned *mural;
    const PlannedPanel *panel;
    int crate; /* index */
} Packed;

typedef struct ShowCrate {
    int first, panels;                    /* first: place of its first in the order of hanging */
    double width_mm, height_mm, depth_mm; /* outside */
    double net_kg, gross_kg, value;       /* net: of the panels; gross: at the most, with the box */
    int vehicle, load;                    /* from 0: the vehicle, and the crate's place in the
                                             order of loading it */
    int on, level;     /* the crate that it stands on, -1: the floor; crates below it */
    double carried_kg; /* of those that stand on it, one on another */
} ShowCrate;

/* What crates travel in. */
typedef struct Vehicle {
    const char *name;
    double length_mm, width_mm, height_mm, door_width_mm, door_height_mm; /* inner; clear */
    double payload_kg;
    const char *source;
} Vehicle;
extern const Vehicle vehicle_list[]; /* in the order of SHOW_VEHICLES */

typedef struct ShowCrates {
    int panels, crates;
    Packed *packed;             /* in the order of hanging */
    ShowCrate *crate;           /* in the order of opening */
    double volume_m3, bound_m3; /* of the crates; of any such packing, proven */
    double net_kg, gross_kg, value;
    const Vehicle *vehicle;
    int vehicles, vehicles_bound; /* no fewer can do, by floor, volume and mass */
    int stacked;                  /* crates that stand on others */
    int too_large;                /* crates that do not go through the door of the vehicle */
} ShowCrates;

/* Fault: no memory. */
Status show_crates_init(ShowCrates *crates_out, const Show *show, const Planned *planned,
                        Fault *fault);
void show_crates_clear(ShowCrates *crates);

/* "3 panels of plastic bricks: cup r1c1, r1c2; pilot r1c1", cut where it does not fit. */
void show_crates_content(const ShowCrates *crates, int crate, char *text_out, size_t size);

/* crates.csv: a line a crate. */
Status show_crates_write(const ShowCrates *crates, const Show *show, const char *path,
                         Fault *fault);

#endif
