/* Cells png: cells.png and steps.png, out and back in. One pixel a cell, row `rows` of
 * the mural on top. A paint program may hand cells.png back as indexed, grey or true
 * colour, with its palette reordered: what counts is each pixel's colour, which must be
 * one of the palette's. */
#ifndef ROWLOCK_OUTPUT_CELLS_PNG_H
#define ROWLOCK_OUTPUT_CELLS_PNG_H

#include "model/grid.h"
#include "model/palette.h"
#include "output/paint.h"

Status cells_png_write(const Grid *grid, const Palette *palette, const PaintPlace *place,
                       Fault *fault);
/* The index of a pixel is its steps; the colours are those of model/index_colours. */
Status steps_png_write(const Grid *grid, const PaintPlace *place, Fault *fault);

/* Makes *grid_out from the file, flat. columns and rows are what the job asks for, 0
 * where it does not say; another size is a fault. */
Status cells_png_read(Grid *grid_out, const char *path, const Palette *palette, int columns,
                      int rows, Fault *fault);

#endif
