/* One door to the heap. Products of sizes are checked here (calloc does it for memory_create), and
 * a test can have any one allocation fail, which is how every path that frees what it has is run;
 * its countdown is shared with child processes.
 *
 * Large blocks ask for pages of 2 MiB, where the system leaves that to the program: planes of
 * floats are gone through from end to end, and half the time of outlines went into pages of 4 KiB,
 * first touched and then looked up, measured in a virtual machine. */
#include "base/memory.h"

#include "base/system.h"

#include <stdatomic.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>

/* Below, a block holds no such page, and what it does not touch must stay untouched. */
#define LARGE ((size_t)2 << 20)
#define PAGE ((size_t)4096)

static atomic_long never = -1, *countdown = &never;
static MemoryWatch *watched;

void memory_fail_after(long successes)
{
    if (countdown == &never) {
        void *shared = mmap(NULL, sizeof *countdown, PROT_READ | PROT_WRITE,
                            MAP_SHARED | MAP_ANONYMOUS, -1, 0);
        if (shared == MAP_FAILED) abort(); /* a test without what it tests */
        countdown = shared;
    }
    atomic_store(countdown, successes);
}

void memory_watch(MemoryWatch *watch) { watched = watch; }

long memory_countdown(void) { return atomic_load(countdown); }

static int fails_now(void)
{
    if (atomic_load_explicit(countdown, memory_order_relaxed) < 0) return 0;
    const long left = atomic_fetch_sub(countdown, 1);
    if (watched) watched(left);
    return left == 0;
}

/* Advice alone: where it is not taken, nothing changes but the time. */
static void ask_for_large_pages(void *block, size_t bytes)
{
    if (!block || bytes < LARGE) return;
    const size_t before = (uintptr_t)block % PAGE;
    system_large_pages((char *)block - before, before + bytes);
}

void *memory_create(size_t count, size_t size)
{
    if (fails_now()) return NULL;
    void *block = calloc(count ? count : 1, size ? size : 1);
    ask_for_large_pages(block, count * size);
    return block;
}

void *memory_create_unset(size_t count, size_t size)
{
    if (fails_now() || (size && count > SIZE_MAX / size)) return NULL;
    void *block = malloc(count && size ? count * size : 1);
    ask_for_large_pages(block, count * size);
    return block;
}

void memory_free(void *block) { free(block); }

/* By trial on a plan of 200 x 133 cells whose settings change again and again: a third of the time
 * to the first colours went into pages that had just been given back. */
#define KEPT_MOST (256 << 20)
#define KEPT_BLOCK (32 << 20) /* more mallopt(3) does not take */

void memory_keep_freed(void) { system_tune_heap(KEPT_BLOCK, KEPT_MOST); }

Status memory_grow(void *block_pointer, size_t *capacity, size_t need, size_t size, Fault *fault)
{
    if (need <= *capacity) return STATUS_OK;
    size_t wanted = *capacity + *capacity / 2;
    if (wanted < need) wanted = need;
    if (wanted < 16) wanted = 16;
    if (wanted > SIZE_MAX / size || fails_now()) return memory_fault(fault, wanted, size);
    void *old;
    memcpy(&old, block_pointer, sizeof old);
    char *grown = realloc(old, wanted * size);
    if (!grown) return memory_fault(fault, wanted, size);
    ask_for_large_pages(grown, wanted * size);
    memset(grown + *capacity * size, 0, (wanted - *capacity) * size);
    memcpy(block_pointer, &grown, sizeof grown);
    *capacity = wanted;
    return STATUS_OK;
}

Status memory_fault(Fault *fault, size_t count, size_t size)
{
    return fault_set(
        fault, STATUS_NO_RESOURCE,
        "memory: no room for %zu items of %zu bytes; plan a smaller mural or free memory", count,
        size);
}
