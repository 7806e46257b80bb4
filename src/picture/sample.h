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

/* Averages over columns x rows cells that divide the crop evenly. Bit for bit the same
 * for any number of threads. The source is used up. The image is the caller's to clear,
 * also if it was empty before. */
Status sample_image(Source *source, const Crop *crop, int columns, int rows, int threads,
                    Image *image_out, const Voice *voice, Fault *fault);

/* The same for a source of data (depth, mask): *cells_out holds rows x columns numbers,
 * 0 to 1, row 0 at the bottom; memory_free frees it. */
Status sample_data(Source *source, const Crop *crop, int columns, int rows, int threads,
                   float **cells_out, const Voice *voice, Fault *fault);

#endif
