/* Served: a server that answers in a thread of the test, until the test ends it. */
#ifndef ROWLOCK_TESTS_SERVED_H
#define ROWLOCK_TESTS_SERVED_H

#include "serve/server.h"

#include <pthread.h>
#include <stdbool.h>

static Server *server;
static pthread_t server_thread;
static bool server_ended;

static inline bool server_has_ended(void *self)
{
    (void)self;
    return __atomic_load_n(&server_ended, __ATOMIC_ACQUIRE);
}

static inline void *answer_on(void *self)
{
    server_run(server, server_has_ended, self);
    return NULL;
}

/* 0, or no thread could be had. */
static inline int begin_server(void)
{
    __atomic_store_n(&server_ended, false, __ATOMIC_RELEASE);
    return pthread_create(&server_thread, NULL, answer_on, NULL);
}

static inline void end_server(void)
{
    __atomic_store_n(&server_ended, true, __ATOMIC_RELEASE);
    server_wake(server);
    pthread_join(server_thread, NULL);
}

#endif
