/* A list of what is asked for, drawn in turn. What is dropped before its turn is not drawn; what is
 * dropped while it is drawn is freed by the thread. */
#include "desk/viewer.h"

#include "base/memory.h"
#include "base/thread.h"

#include <pthread.h>

typedef enum Turn { TURN_WAITING, TURN_DRAWN, TURN_DONE } Turn;

struct Sight {
    RowlockViewing viewing;
    RowlockJob *job; /* NULL: of the open plan */
    Sight *next;     /* in the list of those waiting */
    Turn turn;
    bool dropped;
    RowlockStatus status;
    RowlockBytes png;
    RowlockFault fault;
};

struct Viewer {
    pthread_t thread;
    pthread_mutex_t mutex;
    pthread_cond_t asked;
    RowlockLive *live;
    RowlockLive *other; /* for jobs of their own; the thread's */
    void (*wake)(void *self);
    void *self;
    Sight *first, **end;
    bool ending;
};

static void free_sight(Sight *sight)
{
    rowlock_job_free(sight->job);
    rowlock_bytes_free(&sight->png);
    memory_free(sight);
}

static RowlockStatus draw(Viewer *v, Sight *sight)
{
    RowlockLive *live = sight->job ? v->other : v->live;
    RowlockStatus status = ROWLOCK_OK;
    if (sight->job)
        status = rowlock_live_update(live, sight->job, ROWLOCK_TO_FACE, NULL, &sight->fault);
    return status ? status : rowlock_live_view(live, &sight->viewing, &sight->png, &sight->fault);
}

/* With the mutex held, which is let go while it draws. */
static void draw_first(Viewer *v)
{
    Sight *sight = v->first;
    v->first = sight->next;
    if (!v->first) v->end = &v->first;
    sight->turn = TURN_DRAWN;
    pthread_mutex_unlock(&v->mutex);
    sight->status = draw(v, sight);
    pthread_mutex_lock(&v->mutex);
    sight->turn = TURN_DONE;
    if (sight->dropped)
        free_sight(sight);
    else
        v->wake(v->self);
}

static void *draw_all(void *context)
{
    Viewer *v = context;
    pthread_mutex_lock(&v->mutex);
    while (!v->ending) {
        if (v->first)
            draw_first(v);
        else
            pthread_cond_wait(&v->asked, &v->mutex);
    }
    pthread_mutex_unlock(&v->mutex);
    return NULL;
}

Status viewer_create(Viewer **viewer_out, RowlockLive *live, void (*wake)(void *self), void *self,
                     Fault *fault)
{
    RowlockFault other;
    Viewer *v = *viewer_out = memory_create(1, sizeof *v);
    if (!v) return memory_fault(fault, 1, sizeof *v);
    v->live = live;
    v->wake = wake;
    v->self = self;
    v->end = &v->first;
    pthread_mutex_init(&v->mutex, NULL);
    pthread_cond_init(&v->asked, NULL);
    if (rowlock_live_create(&v->other, &other))
        fault_set(fault, (Status)other.status, "%s", other.text);
    else if (thread_begin(&v->thread, draw_all, v))
        fault_set(fault, STATUS_NO_RESOURCE, "desk: no thread to draw with; close something");
    else
        return STATUS_OK;
    rowlock_live_free(v->other);
    memory_free(v);
    *viewer_out = NULL;
    return fault->status;
}

void viewer_free(Viewer *v)
{
    if (!v) return;
    pthread_mutex_lock(&v->mutex);
    v->ending = true;
    pthread_cond_signal(&v->asked);
    pthread_mutex_unlock(&v->mutex);
    pthread_join(v->thread, NULL);
    while (v->first) {
        Sight *sight = v->first;
        v->first = sight->next;
        free_sight(sight);
    }
    rowlock_live_free(v->other);
    pthread_cond_destroy(&v->asked);
    pthread_mutex_destroy(&v->mutex);
    memory_free(v);
}

Sight *viewer_ask(Viewer *v, const RowlockViewing *viewing, RowlockJob *job)
{
    Sight *sight = memory_create(1, sizeof *sight);
    if (!sight) {
        rowlock_job_free(job);
        return NULL;
    }
    sight->viewing = *viewing;
    sight->job = job;
    pthread_mutex_lock(&v->mutex);
    *v->end = sight;
    v->end = &sight->next;
    pthread_cond_signal(&v->asked);
    pthread_mutex_unlock(&v->mutex);
    return sight;
}

bool viewer_is_done(Viewer *v, const Sight *sight)
{
    pthread_mutex_lock(&v->mutex);
    const bool done = sight->turn == TURN_DONE;
    pthread_mutex_unlock(&v->mutex);
    return done;
}

RowlockStatus viewer_take(Viewer *v, Sight *sight, RowlockBytes *png_out, RowlockFault *fault)
{
    pthread_mutex_lock(&v->mutex);
    *png_out = sight->png;
    sight->png = (RowlockBytes){0};
    *fault = sight->fault;
    pthread_mutex_unlock(&v->mutex);
    return sight->status;
}

static void unlist(Viewer *v, const Sight *sight)
{
    Sight **at = &v->first;
    while (*at != sight) at = &(*at)->next;
    *at = sight->next;
    if (!*at) v->end = at;
}

void viewer_drop(Viewer *v, Sight *sight)
{
    if (!sight) return;
    pthread_mutex_lock(&v->mutex);
    if (sight->turn == TURN_WAITING) unlist(v, sight);
    if (sight->turn == TURN_DRAWN)
        sight->dropped = true;
    else
        free_sight(sight);
    pthread_mutex_unlock(&v->mutex);
}
