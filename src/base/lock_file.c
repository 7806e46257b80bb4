/* flock(2) on a file of its own. The file may be removed by its holder between another run's open
 * and its lock; then that run holds a lock on a file without a name, which keeps nobody out. So
 * whoever has the lock looks whether the name still leads to the file it locked, and else opens
 * the name anew. */
#include "base/lock_file.h"

#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

/* A run that was killed may take a moment to let go: two seconds in all. */
enum { TRIES = 40, PAUSE_NS = 50000000 };

static bool is_at(const char *path, int descriptor)
{
    struct stat named, held;
    return !lstat(path, &named) && !fstat(descriptor, &held) && named.st_dev == held.st_dev &&
           named.st_ino == held.st_ino;
}

/* The process that holds the lock, 0 where it has not said yet. */
static long holder(int descriptor)
{
    char text[32] = "";
    long number = 0;
    if (pread(descriptor, text, sizeof text - 1, 0) <= 0 || sscanf(text, "%ld", &number) != 1)
        return 0;
    return number;
}

static void sign(int descriptor)
{
    char text[32];
    const int length = snprintf(text, sizeof text, "%ld\n", (long)getpid());
    if (ftruncate(descriptor, 0) || pwrite(descriptor, text, (size_t)length, 0) != length)
        return; /* only others' messages say less */
}

static Status refused(const char *asked, int descriptor, Fault *fault)
{
    const long process = holder(descriptor);
    if (!process)
        return fault_set(fault, STATUS_NO_CREATE,
                         "%s: another run is writing it; wait for that, or choose another --out",
                         asked);
    return fault_set(fault, STATUS_NO_CREATE,
                     "%s: another run, process %ld, is writing it; wait for that, or choose "
                     "another --out",
                     asked, process);
}

Status lock_file_take(LockFile *lock, const char *path, const char *asked, Fault *fault)
{
    int descriptor = -1;
    snprintf(lock->path, sizeof lock->path, "%s", path);
    for (int tries = 0; tries < TRIES; tries++) {
        if (descriptor < 0)
            descriptor = open(path, O_RDWR | O_CREAT | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC, 0666);
        if (descriptor < 0)
            return fault_set(fault, STATUS_NO_CREATE,
                             "%s: cannot be created (%s: %s); choose another --out", asked, path,
                             strerror(errno));
        if (flock(descriptor, LOCK_EX | LOCK_NB) == 0) {
            if (is_at(path, descriptor)) {
                sign(descriptor);
                lock->descriptor = descriptor;
                return STATUS_OK;
            }
            close(descriptor);
            descriptor = -1;
            continue;
        }
        if (errno != EWOULDBLOCK && errno != EINTR) break;
        nanosleep(&(struct timespec){.tv_nsec = PAUSE_NS}, NULL);
    }
    if (descriptor < 0) descriptor = open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC);
    const Status status = refused(asked, descriptor, fault);
    if (descriptor >= 0) close(descriptor);
    return status;
}

void lock_file_release(LockFile *lock)
{
    unlink(lock->path);
    close(lock->descriptor);
    lock->descriptor = -1;
}
