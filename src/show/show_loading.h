/* Show loading: crates on pallets, and both in vehicles, the other way round from how they are
 * opened, so that what is opened first stands at the door.
 *
 * A crate stands on its floor, a pallet's or the vehicle's, or on one that was loaded before it and
 * is at least as long and as deep; none carries more than it weighs itself. So it can always be
 * taken out before those that were loaded before it. A pallet holds crates that are loaded one
 * after another. A crate that fits no pallet stands on the vehicle's floor; one that does not go
 * into the vehicle is left out, and told. */
#ifndef ROWLOCK_SHOW_SHOW_LOADING_H
#define ROWLOCK_SHOW_SHOW_LOADING_H

#include "show/show_file.h"

typedef struct ShowCrate {
    int first, panels;                    /* first: place of its first in the order of hanging */
    double width_mm, height_mm, depth_mm; /* outside */
    double net_kg, gross_kg, value;       /* net: of the panels; gross: at the most, with the box */
    int vehicle, load;                    /* from 0: the vehicle, and the crate's place in the
                                             order of loading it; -1: it does not go in */
    int pallet;                           /* from 0, through all vehicles; -1: none */
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

typedef struct Pallet {
    const char *name;
    double length_mm, width_mm, own_kg;
} Pallet;
extern const Pallet pallet_list[]; /* in the order of SHOW_PALLETS */

typedef struct ShowLoading {
    const Vehicle *vehicle;
    const Pallet *pallet;         /* NULL: none */
    int vehicles, vehicles_bound; /* no fewer can do, by floor, volume and mass */
    int pallets, pallets_bound;   /* the same of pallets, for the crates that stand on them */
    int on_pallets;               /* crates that do */
    int stacked;                  /* crates that stand on others */
    int too_large;                /* crates that do not go into the vehicle */
} ShowLoading;

/* Fills in where each crate stands; they come in the order of opening. */
void show_loading_load(ShowLoading *loading_out, ShowCrate *crate, int crates, const Show *show);

/* Where a crate stands, in words: "1 / 3, pallet 2, on 9", vehicle and place of loading first, or
 * "goes into no truck". */
enum { PLACE_TEXT = 64 };
void show_loading_place(const ShowLoading *loading, const ShowCrate *crate,
                        char text_out[PLACE_TEXT]);

/* How all crates travel: "40 on 9 pallets 1200x800 (proven: at least 7), in 1 × truck (proven: at
 * least 1), 3 on other crates". */
void show_loading_sum(const ShowLoading *loading, char *text_out, size_t size);
/* Where some go into no vehicle: what it takes, and what would do. */
void show_loading_mend(const ShowLoading *loading, const ShowCrate *crate, int crates,
                       char *text_out, size_t size);

#endif
