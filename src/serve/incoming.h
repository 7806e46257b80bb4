/* Incoming: a file that comes in piece by piece. It has no name of its own until somebody keeps it.
 */
#ifndef ROWLOCK_SERVE_INCOMING_H
#define ROWLOCK_SERVE_INCOMING_H

#include "base/status.h"

#include <stddef.h>
#include <stdio.h>

#define INCOMING_PART ".part-" /* how the names of what is half-written begin */

enum { INCOMING_PATH = 1024 }; /* bytes of a path */

typedef struct Incoming {
    FILE *file;
    char path[INCOMING_PATH];
} Incoming;

/* Begins one in this folder. Fault: STATUS_IO. */
Status incoming_begin(Incoming *incoming_out, const char *folder, Fault *fault);
Status incoming_add(Incoming *incoming, const void *bytes, size_t length, Fault *fault);

/* Throws it away, or its second name, where it was kept. NULL file allowed. */
void incoming_drop(Incoming *incoming);

#endif
