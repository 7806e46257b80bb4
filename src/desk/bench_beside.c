/* A thread that runs the bench as its command does, with a voice that says when to stop. What it
 * says of itself is held under a mutex, and written once. */
#include "desk/bench_beside.h"

#include "base/json_file.h"
#include "base/memory.h"
#include "base/thread.h"
#include "bench/bench.h"
#include "serve/server.h"

#include <pthread.h>
#include <stdio.h>

struct BenchBeside {
    pthread_t thread;
    pthread_mutex_t mutex;
    void (*wake)(void *self);
    void *self;
    char folder[BENCH_PATH];
    bool stopping, ended;
    Server *server;         /* NULL: not open yet; it is there as long as nothing is stopping */
    char link[SERVER_LINK]; /* "": not open yet */
    char note[ROWLOCK_FAULT_TEXT];
    RowlockFault fault; /* of what ended it */
};

static bool is_stopped(void *context)
{
    BenchBeside *b = context;
    pthread_mutex_lock(&b->mutex);
    const bool stopping = b->stopping;
    pthread_mutex_unlock(&b->mutex);
    return stopping;
}

static void hear_bench(void *context, const char *text)
{
    BenchBeside *b = context;
    pthread_mutex_lock(&b->mutex);
    snprintf(b->note, sizeof b->note, "%s", text);
    pthread_mutex_unlock(&b->mutex);
}

static void hear_link(void *context, const char *link, Server *server)
{
    BenchBeside *b = context;
    pthread_mutex_lock(&b->mutex);
    snprintf(b->link, sizeof b->link, "%s", link);
    b->server = server;
    pthread_mutex_unlock(&b->mutex);
    b->wake(b->self);
}

static void *run_bench(void *context)
{
    BenchBeside *b = context;
    const char *folder = b->folder;
    const BenchOptions options = {.folder = &folder, .folders = 1, .told = hear_link, .self = b};
    const RowlockVoice voice = {.self = b, .note = hear_bench, .stopped = is_stopped};
    RowlockFault fault = {0};
    bench_run(&options, &voice, &fault);
    pthread_mutex_lock(&b->mutex);
    b->fault = fault;
    b->ended = true;
    pthread_mutex_unlock(&b->mutex);
    b->wake(b->self);
    return NULL;
}

Status bench_beside_open(BenchBeside **beside_out, const char *folder, void (*wake)(void *self),
                         void *self, Fault *fault)
{
    BenchBeside *b = *beside_out = memory_create(1, sizeof *b);
    if (!b) return memory_fault(fault, 1, sizeof *b);
    b->wake = wake;
    b->self = self;
    snprintf(b->folder, sizeof b->folder, "%s", folder);
    pthread_mutex_init(&b->mutex, NULL);
    if (!thread_begin(&b->thread, run_bench, b)) return STATUS_OK;
    pthread_mutex_destroy(&b->mutex);
    memory_free(b);
    *beside_out = NULL;
    return fault_set(fault, STATUS_NO_RESOURCE, "bench: no thread to serve with; close something");
}

void bench_beside_free(BenchBeside *b)
{
    if (!b) return;
    pthread_mutex_lock(&b->mutex);
    b->stopping = true;
    if (b->server) server_wake(b->server); /* else it would look only at its next tick */
    pthread_mutex_unlock(&b->mutex);
    pthread_join(b->thread, NULL);
    pthread_mutex_destroy(&b->mutex);
    memory_free(b);
}

const char *bench_beside_link(BenchBeside *b, Fault *fault)
{
    *fault = (Fault){0};
    pthread_mutex_lock(&b->mutex);
    const bool open = *b->link && !b->ended;
    if (b->ended)
        fault_set(fault, b->fault.status ? (Status)b->fault.status : STATUS_IO, "%s",
                  *b->fault.text ? b->fault.text : "bench: it has ended; open it again");
    pthread_mutex_unlock(&b->mutex);
    return open ? b->link : NULL;
}

json_t *bench_beside_note(BenchBeside *b)
{
    pthread_mutex_lock(&b->mutex);
    json_t *note = json_text(b->note);
    pthread_mutex_unlock(&b->mutex);
    return note;
}
