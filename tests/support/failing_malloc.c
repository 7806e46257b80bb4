/* Preloaded into the program, this has one allocation of the whole run fail, or all from one on,
 * whoever asks: the program itself or a library. Allocations are counted over the process and its
 * children together.
 *
 * FAIL_AT is the number of the one that fails, from 1; FAIL_ON=1 has all after it fail too.
 * FAIL_COUNT names a file that gets their number when the program ends.
 *
 * malloc fails with ENOMEM (POSIX.1-2017). __libc_malloc and its like are glibc's own names. */
#include <errno.h>
#include <stdatomic.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/mman.h>

void *__libc_malloc(size_t size);
void *__libc_calloc(size_t count, size_t size);
void *__libc_realloc(void *block, size_t size);
void *__libc_memalign(size_t alignment, size_t size);

static atomic_long *count;
static long fail_at;
static int fail_on;

__attribute__((constructor)) static void begin(void)
{
    void *shared =
        mmap(NULL, sizeof *count, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    const char *at = getenv("FAIL_AT");
    if (shared == MAP_FAILED) abort();
    fail_at = at ? atol(at) : 0;
    fail_on = getenv("FAIL_ON") != NULL;
    count = shared;
}

__attribute__((destructor)) static void end(void)
{
    const char *path = getenv("FAIL_COUNT");
    const long counted = atomic_load(count);
    count = NULL;
    FILE *file = path ? fopen(path, "w") : NULL;
    if (file) {
        fprintf(file, "%ld\n", counted);
        fclose(file);
    }
}

static int fails(void)
{
    if (!count) return 0;
    const long number = atomic_fetch_add(count, 1) + 1;
    const int now = fail_at && (number == fail_at || (fail_on && number > fail_at));
    if (now) errno = ENOMEM;
    return now;
}

void *malloc(size_t size) { return fails() ? NULL : __libc_malloc(size); }
void *calloc(size_t n, size_t size) { return fails() ? NULL : __libc_calloc(n, size); }
void *realloc(void *block, size_t size) { return fails() ? NULL : __libc_realloc(block, size); }
void *aligned_alloc(size_t a, size_t size) { return fails() ? NULL : __libc_memalign(a, size); }
void *memalign(size_t a, size_t size) { return fails() ? NULL : __libc_memalign(a, size); }

int posix_memalign(void **block_out, size_t alignment, size_t size)
{
    void *block = fails() ? NULL : __libc_memalign(alignment, size);
    if (!block) return ENOMEM;
    *block_out = block;
    return 0;
}
