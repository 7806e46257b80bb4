/* A file under a name that begins as those do which are removed at the next opening.
 *
 * Source: mkstemp of POSIX.1-2017. */
#include "serve/incoming.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static Status io_fault(const char *where, int why, Fault *fault)
{
    return fault_set(fault, STATUS_IO, "%s: cannot be written (%s); free some space", where,
                     strerror(why));
}

Status incoming_begin(Incoming *incoming, const char *folder, Fault *fault)
{
    incoming->file = NULL;
    snprintf(incoming->path, sizeof incoming->path, "%s/" INCOMING_PART "XXXXXX", folder);
    const int descriptor = mkostemp(incoming->path, O_CLOEXEC);
    if (descriptor >= 0) incoming->file = fdopen(descriptor, "wb");
    if (incoming->file) return STATUS_OK;
    const int why = errno;
    if (descriptor >= 0) close(descriptor);
    return io_fault(folder, why, fault);
}

Status incoming_add(Incoming *incoming, const void *bytes, size_t length, Fault *fault)
{
    if (fwrite(bytes, 1, length, incoming->file) == length) return STATUS_OK;
    return io_fault(incoming->path, errno, fault);
}

void incoming_drop(Incoming *incoming)
{
    if (!incoming->file) return;
    fclose(incoming->file);
    unlink(incoming->path);
    incoming->file = NULL;
}
