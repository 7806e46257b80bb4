/* Here is asked which system and C library this is, and else only where one way is a whole piece of
 * code: memory_available reads Linux's files, memory_file makes a stream, simd8 has the compiler
 * make code for several processors. A build with -U__linux__ takes the ways of a system that has
 * nothing but POSIX, so that they are tested on Linux too (make MODE=posix).
 *
 * Source: renameat2(2), prctl(2), madvise(2) and setpriority(2) of Linux; mallopt(3) of the GNU C
 * library; for macOS renamex_np(2), from memory. */
#include "base/system.h"

#include "base/status.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <sys/socket.h>
#include <unistd.h>

#ifdef __linux__
#include <signal.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/syscall.h>
#ifdef __GLIBC__
#include <malloc.h>
#endif
#endif

#ifdef __APPLE__
const char *const system_opener = "open";
#else
const char *const system_opener = "xdg-open";
#endif

/* Not every C library has a name for what the system can: musl has none for renameat2. */
int system_exchange(const char *a, const char *b)
{
#if defined(__linux__) && defined(__GLIBC__)
    return renameat2(AT_FDCWD, a, AT_FDCWD, b, RENAME_EXCHANGE);
#elif defined(__linux__)
    enum { EXCHANGE = 1 << 1 }; /* RENAME_EXCHANGE of linux/fs.h */
    return (int)syscall(SYS_renameat2, AT_FDCWD, a, AT_FDCWD, b, EXCHANGE);
#elif defined(__APPLE__)
    return renamex_np(a, b, RENAME_SWAP);
#else
    (void)a;
    (void)b;
    errno = ENOSYS;
    return -1;
#endif
}

#if !defined(__linux__) && !defined(__FreeBSD__) && !defined(__NetBSD__) && !defined(__OpenBSD__)
#define IN_STEPS 1

static int close_in_programs(int descriptor)
{
    return descriptor < 0 ? -1 : fcntl(descriptor, F_SETFD, FD_CLOEXEC);
}
#endif

int system_pipe(int end[2])
{
#ifdef IN_STEPS
    if (pipe(end)) return -1;
    if (!close_in_programs(end[0]) && !close_in_programs(end[1])) return 0;
    close(end[0]);
    close(end[1]);
    return -1;
#else
    return pipe2(end, O_CLOEXEC);
#endif
}

int system_socket(int family)
{
#ifdef IN_STEPS
    const int descriptor = socket(family, SOCK_STREAM, 0);
    if (!close_in_programs(descriptor) && !fcntl(descriptor, F_SETFL, O_NONBLOCK))
        return descriptor;
    if (descriptor >= 0) close(descriptor);
    return -1;
#else
    return socket(family, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
#endif
}

void system_die_with(pid_t parent)
{
#ifdef __linux__
    prctl(PR_SET_PDEATHSIG, SIGKILL);
#endif
    if (getppid() != parent) _exit(STATUS_IO);
}

void system_large_pages(void *page, size_t bytes)
{
#ifdef __linux__
    madvise(page, bytes, MADV_HUGEPAGE);
#else
    (void)page;
    (void)bytes;
#endif
}

void system_tune_heap(size_t own_pages_from, size_t kept)
{
#if defined(__linux__) && defined(__GLIBC__)
    if (own_pages_from) mallopt(M_MMAP_THRESHOLD, (int)own_pages_from);
    if (kept) mallopt(M_TRIM_THRESHOLD, (int)kept);
#else
    (void)own_pages_from;
    (void)kept;
#endif
}

/* Linux has a niceness for each thread, and those that it starts are as it is. */
void system_give_way(void)
{
#ifdef __linux__
    enum { NICENESS = 5 }; /* a third of the others' weight (335 to 1024, from memory) */
    setpriority(PRIO_PROCESS, (id_t)syscall(SYS_gettid), NICENESS);
#endif
}
