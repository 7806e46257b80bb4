/* Written PNG: reads a finished PNG back and holds it to its own checksums. */
#ifndef ROWLOCK_BASE_WRITTEN_PNG_H
#define ROWLOCK_BASE_WRITTEN_PNG_H

#include "base/status.h"

/* Fault (STATUS_IO): it cannot be read back, a chunk is not what its CRC says, or it does not
 * begin and end as a PNG does. */
Status written_png_check(const char *path, Fault *fault);

#endif
