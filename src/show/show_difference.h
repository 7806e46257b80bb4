/* Show difference: what a run changes in what murals take, against the show that stands. */
#ifndef ROWLOCK_SHOW_SHOW_DIFFERENCE_H
#define ROWLOCK_SHOW_SHOW_DIFFERENCE_H

#include "base/name_table.h"
#include "show/show_folder.h"
#include "show/show_order.h"

/* Bricks of a colour and size in a mural. */
typedef struct ShowChange {
    char mural[SHOW_NAME], colour[17], size[16], key[80];
    long before, after;
} ShowChange;

typedef struct ShowDifference {
    bool earlier; /* there was a show */
    size_t count, capacity;
    ShowChange *line; /* what was before, in its order; then what is new */
    NameTable index;
    int added, dropped, changed; /* murals; changed: those that take other bricks now */
    char first_dropped[SHOW_NAME];
    long more, fewer; /* bricks, over the colours and sizes of each mural */
} ShowDifference;

/* Reads what stands in the folder before it is replaced. Faults: a table that cannot be read, no
 * memory. show_difference_clear also after a fault. */
Status show_difference_init(ShowDifference *difference_out, const ShowFolder *folder,
                            const Show *show, const ShowOrder *order, Fault *fault);
void show_difference_clear(ShowDifference *difference);

/* difference.csv: the lines that differ. Nothing is written where there was no show, and where
 * nothing differs the table that stands is kept. */
Status show_difference_write(const ShowDifference *difference, const ShowFolder *folder,
                             const char *path, Fault *fault);

#endif
