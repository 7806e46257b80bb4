/* Memory available: what the system can still give this process. */
#ifndef ROWLOCK_BASE_MEMORY_AVAILABLE_H
#define ROWLOCK_BASE_MEMORY_AVAILABLE_H

/* Bytes that may be had without others losing theirs: the kernel's estimate, or what is left of
 * the process's group where that is less. INFINITY where the system does not say. */
double memory_available(void);

#endif
