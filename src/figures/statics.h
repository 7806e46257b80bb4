/* Statics: what a panel asks of what carries it. Figures to hand over, not a design: the
 * fixing of a panel is for a person who is licensed to design it.
 *
 * Each brick's mass acts at the middle of its box (knobs and hollows are left out), and what is
 * behind the bricks at the middle of its own depth. Places are mm from the panel's lower left
 * corner and the wall. */
#ifndef ROWLOCK_FIGURES_STATICS_H
#define ROWLOCK_FIGURES_STATICS_H

#include "figures/mural.h"

/* Fixings do not share evenly; 1.5 to 2 is common (from memory). */
#define STATICS_UNEVENNESS 2.0
#define STATICS_GRAVITY 9.81 /* m/s2 */

/* Fills load[panels->count].statics; the panels' masses are there already. */
void statics_panels(const Mural *mural, const Mounting *mounting, int fixings, PanelLoad *load);

#endif
