/* Memory file: what is written to a stream, as bytes in memory. */
#ifndef ROWLOCK_BASE_MEMORY_FILE_H
#define ROWLOCK_BASE_MEMORY_FILE_H

#include "base/status.h"

#include <stddef.h>
#include <stdio.h>

typedef struct MemoryFile {
    unsigned char *byte; /* memory_free frees it; NULL: nothing was written */
    size_t length, capacity;
} MemoryFile;

/* A stream that adds what is written to the bytes, which are in place once it is closed. A write
 * fails for lack of memory, with ENOMEM. Fault: no memory. */
Status memory_file_open(FILE **file_out, MemoryFile *to, Fault *fault);

#endif
