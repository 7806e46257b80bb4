/* System: what the program asks of the system beyond POSIX.1-2024, a function each. Where a system
 * has no word for it the function does without, and says how it then is. */
#ifndef ROWLOCK_BASE_SYSTEM_H
#define ROWLOCK_BASE_SYSTEM_H

#include <stddef.h>
#include <sys/types.h>

/* The command that shows a link in a browser. */
extern const char *const system_opener;

/* Swaps two names of one file system in one step. Returns 0, or -1 and errno: ENOSYS or EINVAL
 * where there is no such step. */
int system_exchange(const char *a, const char *b);

/* The ends of a pipe, closed in programs that are started. Returns 0, or -1 and errno. Elsewhere
 * than on Linux and the BSDs a program that another thread starts in the same moment may keep them.
 */
int system_pipe(int end_out[2]);

/* A socket for a stream, closed in programs that are started, that never waits. Returns it, or -1
 * and errno. As system_pipe elsewhere. */
int system_socket(int family);

/* From now on the calling process dies with the parent that forked it; at once if that is gone.
 * Elsewhere than on Linux it lives on, until it writes to a pipe that nobody reads. */
void system_die_with(pid_t parent);

/* Advice to hold whole pages in large ones; elsewhere than on Linux none is given. */
void system_large_pages(void *page, size_t bytes);

/* Blocks from so many bytes on have pages of their own, which were never used before, and go back
 * to the system when they are freed; of what else is freed so much is kept. 0: as it was. Where the
 * C library is not GNU's nothing changes. */
void system_tune_heap(size_t own_pages_from, size_t kept);

/* The calling thread, and those that it starts, let other threads of the program go first.
 * Elsewhere than on Linux niceness is the whole process's, and nothing changes. */
void system_give_way(void);

#endif
