/* Measure: how true the cells are, and the plan's sums. */
#ifndef ROWLOCK_FIGURES_MEASURE_H
#define ROWLOCK_FIGURES_MEASURE_H

#include "figures/mural.h"

/* CIEDE2000 between each cell of the image and its brick's colour, which is in `face`: mean,
 * 95th percentile (nearest rank) and greatest. Of no use once the voice is stopped. */
Status measure_cells(const Image *image, const Image *face, int threads, const Voice *voice,
                     Measures *measures, Fault *fault);

/* Fills load[panels->count] but for the statics. */
void measure_panels(const Mural *mural, PanelLoad *load);

/* Grams of a unit, of the brick that has the most of them. */
double unit_grams(const Sizes *sizes);

#endif
