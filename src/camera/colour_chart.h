/* Colour chart: a card with patches of known colours in columns and rows. */
#ifndef ROWLOCK_CAMERA_COLOUR_CHART_H
#define ROWLOCK_CAMERA_COLOUR_CHART_H

#include "base/status.h"
#include "base/voice.h"
#include "model/palette.h"

typedef struct ColourChart {
    int columns, rows;
    Palette patches; /* row by row; columns * rows of them */
} ColourChart;

/* The chart of 24 patches in 6 columns, as published for those made since November 2014. */
Status colour_chart_default(ColourChart *chart_out, Fault *fault);

/* A chart from a file as of palette_read; `grid` is "6x4". Faults: those of palette_read, a grid
 * that does not hold as many patches. */
Status colour_chart_read(ColourChart *chart_out, const char *path, const char *grid,
                         const Voice *voice, Fault *fault);

#endif
