/* Show crates: the panels of all murals in crates.
 *
 * In a crate panels stand upright one behind another, a board between two of them; how thick
 * packing is, and how many panels a crate may hold and how much it may weigh, is the job's. The
 * volume of all crates is compared with a bound that no such packing is under. Crates are numbered
 * in the order in which they are opened, that of their first panel to be hung. */
#ifndef ROWLOCK_SHOW_SHOW_CRATES_H
#define ROWLOCK_SHOW_SHOW_CRATES_H

#include "show/planned.h"
#include "show/show_loading.h"

/* A panel and its place in the order of hanging, over all murals. */
typedef struct Packed {
    const Planned *mural;
    const PlannedPanel *panel;
    int crate; /* index */
} Packed;

typedef struct ShowCrates {
    int panels, crates;
    Packed *packed;             /* in the order of hanging */
    ShowCrate *crate;           /* in the order of opening */
    double volume_m3, bound_m3; /* of the crates; of any such packing, proven */
    double net_kg, gross_kg, value;
    ShowLoading loading;
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
