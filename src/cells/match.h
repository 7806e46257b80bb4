/* Match: the nearest colour of a palette by CIEDE2000, exactly.
 *
 * match_nearest returns what a plain loop with delta_e_2000 over the palette returns,
 * ties to the lower index, for every Lab; it only gets there faster. */
#ifndef ROWLOCK_CELLS_MATCH_H
#define ROWLOCK_CELLS_MATCH_H

#include "base/status.h"
#include "base/voice.h"
#include "model/grid.h"
#include "model/image.h"
#include "model/palette.h"

typedef struct Match Match;

/* The palette's colours are copied; *match_out belongs to the caller. About 6 MiB are
 * set aside, of which a small job touches little. */
Status match_create(Match **match_out, const Palette *palette, Fault *fault);
void match_free(Match *match); /* NULL allowed */

/* Any number of threads may ask at once; the answer does not depend on what was
 * asked before. */
int match_nearest(const Match *match, Lab lab);

/* The same for many colours, in two thirds of the time. */
void match_all(const Match *match, const Lab *lab, int count, uint8_t *nearest_out);

/* The nearest colour of every cell into grid->colour; grid has the image's size. */
Status match_image(const Match *match, const Image *image, int threads, Grid *grid,
                   const Voice *voice, Fault *fault);

#endif
