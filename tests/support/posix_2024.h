/* What POSIX.1-2024 has and POSIX.1-2008 had not, as far as the program uses it, for headers
 * that do not yet know the newer. A build with MODE=posix sees nothing else of the newer. */
#ifndef ROWLOCK_SUPPORT_POSIX_2024_H
#define ROWLOCK_SUPPORT_POSIX_2024_H

#include <stddef.h>
#include <sys/mman.h>

void *memmem(const void *in, size_t length, const void *wanted, size_t wanted_length);
int mkostemp(char *path, int flags);
int getentropy(void *bytes, size_t length);

#ifndef MAP_ANONYMOUS
#define MAP_ANONYMOUS 0x20 /* Linux, asm-generic/mman-common.h */
#endif

#endif
