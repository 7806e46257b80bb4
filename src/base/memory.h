/* Memory: every allocation of the library goes through here, so that each size
 * product is checked and each allocation can be made to fail in a test. */
#ifndef ROWLOCK_BASE_MEMORY_H
#define ROWLOCK_BASE_MEMORY_H

#include "base/status.h"

#include <stddef.h>

/* Zeroed memory for count items of size bytes, or NULL (also where the product
 * does not fit a size_t). Never NULL for lack of items: 0 counts as 1. */
void *memory_create(size_t count, size_t size);

/* The same, but what is in it is left to chance: for a large block that is written before it is
 * read, whose zeroing would take long. */
void *memory_create_unset(size_t count, size_t size);
void memory_free(void *block); /* NULL allowed */

/* From now on freed memory is kept for what comes next and not given back to the system, which
 * takes long to clear it again: for a process that makes the same large blocks over and over. Where
 * the C library has no such switch nothing happens. */
void memory_keep_freed(void);

/* Makes room for `need` items in *block, which holds *capacity of them; grows by
 * half, new items are zeroed. On failure *block and *capacity are untouched. */
Status memory_grow(void *block_pointer, size_t *capacity, size_t need, size_t size, Fault *fault);

/* The fault to report when memory_create returned NULL. */
Status memory_fault(Fault *fault, size_t count, size_t size);

/* Test hook: the allocation after `successes` further ones fails, once; -1 is
 * never. memory_countdown tells what is left. */
void memory_fail_after(long successes);
long memory_countdown(void);

/* Test hook: told at each allocation that is counted how many were left before it, from the
 * thread or child process that allocates; NULL tells nobody. */
typedef void MemoryWatch(long left);
void memory_watch(MemoryWatch *watch);

#endif
