/* Raster: a PNG of a finished plan, decoded as it is stored, without any conversion. */
#ifndef ROWLOCK_BASE_RASTER_H
#define ROWLOCK_BASE_RASTER_H

#include "base/status.h"

#include <stdbool.h>
#include <stdint.h>

typedef enum RasterKind { RASTER_INDEXED, RASTER_GREY, RASTER_OTHER } RasterKind;

typedef struct Raster {
    RasterKind kind; /* the first two at 8 bits a sample */
    uint32_t width, height;
    int colours; /* of the PLTE */
    uint8_t rgb[256][3];
    uint8_t *sample; /* height x width, top row first; NULL unless asked for */
} Raster;

/* Decodes the whole file. Samples are kept if the picture is indexed or grey at 8 bits
 * and width x height in size (0 x 0: never). Faults: missing, no PNG. */
Status raster_read(Raster *raster_out, const char *folder, const char *name, uint32_t width,
                   uint32_t height, Fault *fault);
void raster_clear(Raster *raster);

#endif
