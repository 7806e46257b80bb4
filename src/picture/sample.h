/* Sample: from the pixels of a reference to the cells of a mural.
 *
 * Each cell is the exact area average, in linear light, of the part of the picture
 * that it covers; a pixel at the edge of a cell counts by the fraction that lies
 * within. The same rule serves where cells are smaller than pixels. */
#ifndef ROWLOCK_PICTURE_SAMPLE_H
#define ROWLOCK_PICTURE_SAMPLE_H

#include "base/voice.h"
#include "model/image.h"
#include "picture/source.h"

/* Upright pixels, from the top left corner of the picture. */
typedef struct Crop {
    double x, y, width, height;
} Crop;

/* The whole picture. */
Crop crop_all(const Source *source);

/* The largest part with width : height = aspect, out of the middle of a crop. */
Crop crop_central(Crop from, double aspect);

/* Columns x rows cells that divide the crop evenly. */
typedef struct Sampling {
    Crop crop;
    int columns, rows; /* 1 to GRID_MOST */
    int threads;       /* below 1 counts as 1; never changes a bit of the result */
} Sampling;

/* Averages over the cells, XYZ D50. The source is used up, unless its rows are all there. The image
 * is the caller's to clear, also if it was empty before. Faults: a crop beyond the picture, a
 * picture that is broken. */
Status sample_image(Source *source, const Sampling *sampling, Image *image_out, const Voice *voice,
                    Fault *fault);

/* The same for a source of data (depth, mask): *cells_out holds rows x columns numbers,
 * 0 to 1, row 0 at the bottom; memory_free frees it. */
Status sample_data(Source *source, const Sampling *sampling, float **cells_out, const Voice *voice,
                   Fault *fault);

#endif
