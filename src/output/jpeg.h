/* JPEG: a small picture as a file, through stb_image_write. */
#ifndef ROWLOCK_OUTPUT_JPEG_H
#define ROWLOCK_OUTPUT_JPEG_H

#include "base/status.h"

#include <stdint.h>

/* A whole sRGB picture, 3 bytes a pixel, rows top first, 1 to 65535 pixels each way, as baseline
 * JPEG (ITU-T T.81) with chroma at half the resolution up to quality 90. quality is 1 to 100.
 * The same pixels give the same bytes. Faults: the file cannot be created or written. */
Status jpeg_write(const char *path, int width, int height, const uint8_t *rgb, int quality,
                  Fault *fault);

#endif
