/* A writer need not look at each write: the C library keeps a mark that one failed (C17 7.21.10.3),
 * and what it still holds back is written at the latest when the file is closed. So it is enough
 * to ask for both at the end. */
#include "base/output_file.h"

#include <errno.h>
#include <limits.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

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

Status output_file_write_all(FILE *file, const char *bytes, size_t length, const char *path,
                             Fault *fault)
{
    const bool whole = fwrite(bytes, 1, length, file) == length;
    if ((file == stdout ? fflush(file) : fclose(file)) || !whole)
        return output_file_fault(path, errno, fault);
    return STATUS_OK;
}

Status output_file_follow(char *path, Fault *fault)
{
    struct stat found;
    char end[PATH_MAX];
    if (lstat(path, &found)) return STATUS_OK; /* nothing is there */
    if (!realpath(path, end) || stat(end, &found))
        return fault_set(fault, STATUS_NO_CREATE,
                         "%s: is a link that leads to no file (%s); remove it", path,
                         strerror(errno));
    if (!S_ISREG(found.st_mode))
        return fault_set(fault, STATUS_NO_CREATE, "%s: is there and is no file; give another name",
                         path);
    memcpy(path, end, strlen(end) + 1);
    return STATUS_OK;
}

Status output_file_put(const char *partial, const char *path, Fault *fault)
{
    if (!rename(partial, path)) return STATUS_OK;
    return fault_set(fault, STATUS_NO_CREATE, "%s: cannot be put in place (%s); move what is there",
                     path, strerror(errno));
}
