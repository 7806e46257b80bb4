/* Crates: which panels travel together.
 *
 * Panels are packed in the order of hanging: a crate takes the next panel as long as it holds
 * no more panels, and weighs no more when packed, than the job allows; one panel always goes in.
 * They stand upright, a board between two of them. What a crate weighs by itself is reckoned from
 * the sides of a plain plywood box. */
#ifndef ROWLOCK_FIGURES_CRATES_H
#define ROWLOCK_FIGURES_CRATES_H

#include "figures/mural.h"

#define CRATE_BOARD_MM 10.0     /* between two panels: our choice */
#define CRATE_PLYWOOD_MM 12.0   /* of the box: common practice, from memory */
#define CRATE_PLYWOOD_KG_M3 680 /* from memory */
#define CRATE_MASS_OFF 0.10     /* by what part masses may be off */

typedef struct Crate {
    int first, panels; /* places [first, first + panels) in the order of hanging, from 0 */
    double side_mm[3]; /* outside, in rising order */
    double panels_kg, packed_kg; /* of the panels; of these at their most, with the box */
} Crate;

/* The crate that begins with the panel hung as `first`, from 0. */
Crate crate_from(const Mural *mural, int first);

#endif
