/* Grey map: a picture that goes with the reference, read as grey, a number a cell: depth, a mask,
 * care. */
#ifndef ROWLOCK_RELIEF_GREY_MAP_H
#define ROWLOCK_RELIEF_GREY_MAP_H

#include "base/voice.h"
#include "relief/map_frame.h"

typedef struct GreyMap {
    const char *path;
    const DepthFrame *frame;
    double limit_pixels, limit_bytes; /* see PictureOptions */
    int threads;                      /* at least 1; never changes the result */
    const Voice *voice;
} GreyMap;

/* *cells_out holds rows x columns numbers, 0 black to 1 white as they stand in the file, row 0 at
 * the bottom; memory_free frees it. Faults: cannot be read, another shape than the reference. */
Status grey_map_read(const GreyMap *map, float **cells_out, Fault *fault);

#endif
