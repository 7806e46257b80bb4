/* Raster: a PNG decoded as it is stored, without any conversion: one of a finished plan, or a
 * picture of indices. */
#ifndef ROWLOCK_BASE_RASTER_H
#define ROWLOCK_BASE_RASTER_H

#include "base/status.h"

#include <stdbool.h>
#include <stdint.h>

typedef enum RasterKind { RASTER_INDEXED, RASTER_GREY, RASTER_RGB, RASTER_OTHER } RasterKind;

typedef struct Raster {
    RasterKind kind; /* of a plan, the first two are at 8 bits a sample */
    uint32_t width, height;
    int colours; /* of the PLTE */
    uint8_t rgb[256][3];
    uint8_t *sample; /* height x width, of RGB three each, top row first; NULL unless asked for */
} Raster;

/* Decodes the whole file. Samples are kept if the picture is indexed or grey at 8 bits
 * and width x height in size (0 x 0: never). Faults: missing, no PNG. */
Status raster_read(Raster *raster_out, const char *folder, const char *name, uint32_t width,
                   uint32_t height, Fault *fault);

/* Decodes a picture of indices, of whatever size up to limit_pixels: indexed or grey of up to 8
 * bits, one index a sample; any other as RGB of 8 bits. "-" is standard input. Faults: missing, no
 * PNG, too large. */
Status raster_read_indices(Raster *raster_out, const char *path, double limit_pixels, Fault *fault);

void raster_clear(Raster *raster);

#endif
