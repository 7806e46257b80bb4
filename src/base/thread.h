/* Thread: begins one with a stack that does not depend on the system. */
#ifndef ROWLOCK_BASE_THREAD_H
#define ROWLOCK_BASE_THREAD_H

#include <pthread.h>

/* As pthread_create, with attributes as usual but for the stack. Returns 0, or what kept it. */
int thread_begin(pthread_t *thread_out, void *run(void *context), void *context);

#endif
