/* What lies in a plan's folder may be anything by the time that it is read. A pipe without a writer
 * would be waited for and a device read without end, so both are refused when they are opened,
 * without a wait (POSIX.1-2008, open with O_NONBLOCK). */
#include "base/input_file.h"

#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

FILE *input_file_open_regular(const char *path)
{
    const int file = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY);
    if (file < 0) return NULL;
    struct stat what;
    const bool regular = fstat(file, &what) == 0 && S_ISREG(what.st_mode);
    FILE *stream = regular ? fdopen(file, "rb") : NULL;
    if (stream) return stream;
    const int why = regular ? errno : EISDIR;
    close(file);
    errno = why;
    return NULL;
}

Status input_file_stopped(const char *place, Fault *fault)
{
    return fault_set(fault, STATUS_INTERRUPTED,
                     "%s: stopped from outside, nothing was changed; run it again", place);
}

Status input_file_fault(const char *place, int why, Fault *fault)
{
    if (why == EINTR) return input_file_stopped(place, fault);
    if (why == ENOENT || why == ENOTDIR)
        return fault_set(fault, STATUS_NO_INPUT, "%s: there is no such file; check the name",
                         place);
    if (why == ENOMEM)
        return fault_set(fault, STATUS_NO_RESOURCE, "%s: no room to open it; free memory", place);
    if (why == EISDIR)
        return fault_set(fault, STATUS_NO_INPUT, "%s: is a folder; give a file", place);
    const char *mend = why == EACCES || why == EPERM ? "check its permissions" : "try again";
    if (why == ENAMETOOLONG || why == ELOOP) mend = "check the name";
    return fault_set(fault, STATUS_NO_INPUT, "%s: cannot be opened (%s); %s", place, strerror(why),
                     mend);
}
