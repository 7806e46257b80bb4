/* Cells png: cells.png, steps.png, pins.png and regions.png, out and back in. One pixel a cell, row
 * `rows` of the mural on top. A paint program may hand cells.png back as indexed, grey or true
 * colour, with its palette reordered: what counts is each pixel's colour, which must be
 * one of the palette's. */
#ifndef ROWLOCK_OUTPUT_CELLS_PNG_H
#define ROWLOCK_OUTPUT_CELLS_PNG_H

#include "model/grid.h"
#include "model/palette.h"
#include "model/region_list.h"
#include "output/paint.h"

Status cells_png_write(const Grid *grid, const Palette *palette, const PaintPlace *place,
                       Fault *fault);
/* The index of a pixel is its steps; the colours are those of model/index_colours. */
Status steps_png_write(const Grid *grid, const PaintPlace *place, Fault *fault);

/* Makes *grid_out from the file, flat. columns and rows are what the job asks for, 0
 * where it does not say; another size is a fault. */
Status cells_png_read(Grid *grid_out, const char *path, const Palette *palette, int columns,
                      int rows, Fault *fault);

enum { PIN_NONE = 255 }; /* no colour of a palette */

/* pins.png: a cell that is pinned has its colour, all others are transparent; pin: rows x columns,
 * PIN_NONE where a cell is free. */
Status pins_png_write(const Grid *grid, const uint8_t *pin, const Palette *palette,
                      const PaintPlace *place, Fault *fault);

/* The same back: the colours of *pins_out are those of the pins, or PIN_NONE. Faults as of
 * cells_png_read; a pixel that is half transparent. */
Status pins_png_read(Grid *pins_out, const char *path, const Palette *palette, int columns,
                     int rows, Fault *fault);

/* regions.png: the index of a pixel is that of its cell's region; 0: none. */
Status regions_png_write(const Grid *grid, const RegionMap *regions, const PaintPlace *place,
                         Fault *fault);

#endif
