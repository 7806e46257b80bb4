/* A writer need not look at each write: the C library keeps a mark that one failed (C17 7.21.10.3),
 * and what it still holds back is written at the latest when the file is closed. So it is enough
 * to ask for both at the end. */
#include "base/output_file.h"

#include <errno.h>
#include <stdbool.h>
#include <string.h>

Status output_file_open(FILE **file_out, const char *path, Fault *fault)
{
    *file_out = fopen(path, "wb");
    if (*file_out) return STATUS_OK;
    if (errno == ENOMEM) return output_file_fault(path, errno, fault);
    return fault_set(fault, STATUS_NO_CREATE, "%s: cannot be created (%s); check the folder", path,
                     strerror(errno));
}

Status output_file_fault(const char *path, int why, Fault *fault)
{
    const bool memory = why == ENOMEM;
    return fault_set(fault, memory ? STATUS_NO_RESOURCE : STATUS_IO,
                     "%s: cannot be written (%s); free some %s", path, strerror(why),
                     memory ? "memory" : "space");
}

Status output_file_close(FILE *file, const char *path, Fault *fault)
{
    const int broken = ferror(file);
    if (fclose(file) || broken) return output_file_fault(path, errno, fault);
    return STATUS_OK;
}
