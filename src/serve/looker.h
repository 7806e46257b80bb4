/* Looker: what takes long with photographs that come in, one at a time, in a thread of its own, so
 * that other requests are answered meanwhile. All calls are of the thread that answers. */
#ifndef ROWLOCK_SERVE_LOOKER_H
#define ROWLOCK_SERVE_LOOKER_H

#include "base/json_file.h"
#include "rowlock.h"
#include "serve/answer.h"

#include <stdatomic.h>

/* Bytes of a photograph, at most: more than 100 megapixels as JPEG (common practice, no source). */
enum { PHOTO_BODY = 64 * 1024 * 1024 };

/* A file that the sender knows by no path, and what it is called in what is told. */
typedef struct LookName {
    const char *path, *name;
} LookName;

/* What is to be done with a photograph: the first member of whatever it takes. */
typedef struct LookTask LookTask;
struct LookTask {
    /* In the looker's thread: fills `told`. The voice's self is the task. */
    RowlockStatus (*run)(LookTask *task, const RowlockVoice *voice, RowlockFault *fault);
    void (*release)(LookTask *task); /* the task itself, too; NULL: memory_free */
    LookName other;                  /* besides the photograph; NULL path: none */
    /* The looker's own. */
    char photo[INCOMING_PATH];
    json_t *told; /* an object; notes of the run are in its list "notes" */
    Making making;
    atomic_bool stopped;
    RowlockFault fault;
};

typedef struct Looker Looker;

/* The caller frees it, also after a fault. */
Status looker_create(Looker **looker_out, Fault *fault);
void looker_free(Looker *looker); /* NULL allowed */

/* What is called, in the looker's thread, when a task is over; NULL: nothing. None is at work. */
void looker_set_wake(Looker *looker, void (*wake)(void *self), void *self);

/* Whether a task is at work, or its outcome has not been told. */
bool looker_is_busy(const Looker *looker);

/* Answers a request that brings a photograph: once no other's is at work `make` makes its task, and
 * when that is over its `told` is the answer, or its fault. The request holds the looker meanwhile;
 * a service that drops it calls looker_stop. NULL of `make`: the fault says why. */
Answer looker_answer(Looker *looker, const Ask *ask,
                     LookTask *(*make)(void *self, const Ask *ask, Fault *fault), void *self);

/* Stops what is at work, waits until it has stopped, and throws away what it found. */
void looker_stop(Looker *looker);

#endif
