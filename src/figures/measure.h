/* Measure: how true the cells are, and the plan's sums. */
#ifndef ROWLOCK_FIGURES_MEASURE_H
#define ROWLOCK_FIGURES_MEASURE_H

#include "figures/mural.h"

/* CIEDE2000 between each cell of the image and its brick's colour, which is in `face`: mean,
 * 95th percentile (nearest rank) and greatest. Of no use once the voice is stopped. */
Status measure_cells(const Image *image, const Image *face, int threads, const Voice *voice,
                     Measures *measures, Fault *fault);

/* Fills load[panels->count] but for the statics. A header lies across a wall and binds what is side
 * by side in it: it is deeper than it is long, or reaches through all of the wall's thickness (the
 * trade's term; of walls without relief the one that TMS 402 has, from memory). */
void measure_panels(const Mural *mural, PanelLoad *load);

/* Grams of a unit, of the brick that has the most of them. */
double unit_grams(const Sizes *sizes);

#endif
