/* Show file: an exhibition as its INI file tells it.
 *
 * `[show]` has what all murals share: settings of a job, and keys of the show's own. Each
 * `[mural NAME]` has the settings of one job on top of them, and where the mural stands in the
 * show. Paths are taken from the file's folder. */
#ifndef ROWLOCK_SHOW_SHOW_FILE_H
#define ROWLOCK_SHOW_SHOW_FILE_H

#include "base/status.h"
#include "model/job.h"
#include "show/day.h"

#include <stdbool.h>

enum { SHOW_NAME = 40, SHOW_MURALS_MOST = 200, SHOW_TEXT = 200, SHOW_FREE_MOST = 200 };

typedef struct ShowMural {
    char name[SHOW_NAME]; /* of its folder, too: letters, digits, - and _ */
    int line;             /* of its section, from 1 */
    Job job;              /* without `out` */
    char room[SHOW_TEXT]; /* where it hangs; "": not said */
    int make, hang;       /* places in the order of building and of hanging; 0: after those that
                             have one, in the order of the file */
    double priority;      /* what a difference in it counts when the shelf is shared out */
} ShowMural;

typedef struct Show {
    const char *path; /* borrowed */
    char name[SHOW_TEXT];
    Job shared;       /* the settings of [show] */
    bool dated;       /* `start` is given */
    Day start, stamp; /* first day of building; what the calendar was made on */
    int week;         /* days worked in a week, from Monday */
    int free_days;    /* on which nobody works */
    Day free[SHOW_FREE_MOST];
    int lead;       /* days from an order to its bricks */
    int instalment; /* days of building that one order serves; 0: one for all */
    int travel;     /* days on the way */
    int vehicle;    /* what crates travel in: index of a row of vehicle_list */
    int pallet;     /* what they stand on: of pallet_list; 0: none */
    double budget;  /* of the whole; 0: none */
    int count;
    ShowMural *mural; /* in the order of the file */
} Show;

/* The choices of `vehicle` and `pallet`, with bars between. */
#define SHOW_VEHICLES "truck|container-20|container-40|container-40-high"
#define SHOW_PALLETS "none|1200x800|1200x1000|1219x1016|1165x1165|1100x1100|1067x1067"

/* Faults, with line and column: a file that is missing, a section or key that is none, a value
 * that its key does not take, a mural of a bad name or of one that is there already, without a
 * picture or size, a file that is not there, what one mural cannot have of its own. */
Status show_file_read(Show *show_out, const char *path, Fault *fault);
void show_file_clear(Show *show);

/* The show's name, or "Exhibition"; a mural's title, or its name. */
const char *show_title(const Show *show);
const char *show_mural_title(const ShowMural *mural);

/* The fault of a show that was stopped from outside. */
Status show_stopped(Fault *fault);

/* Murals in the order of building, and of hanging: indices; order_out has room for the count. */
void show_making(const Show *show, int *order_out);
void show_hanging(const Show *show, int *order_out);

#endif
