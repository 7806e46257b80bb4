/* One door to the heap. Products of sizes are checked here (calloc does it for memory_create), and
 * a test can have any one allocation fail, which is how every path that frees what it has is run.
 */
#include "base/memory.h"

#include <stdatomic.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

static atomic_long countdown = -1;

void memory_fail_after(long successes) { atomic_store(&countdown, successes); }

long memory_countdown(void) { return atomic_load(&countdown); }

static int fails_now(void)
{
    if (atomic_load_explicit(&countdown, memory_order_relaxed) < 0) return 0;
    return atomic_fetch_sub(&countdown, 1) == 0;
}

void *memory_create(size_t count, size_t size)
{
    if (fails_now()) return NULL;
    return calloc(count ? count : 1, size ? size : 1);
}

void memory_free(void *block) { free(block); }

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
